"""Somebody else goes: handed to a neighbour, or taken over by the first of those on standby."""

from __future__ import annotations

from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.kernel.errors import Conflict
from apps.people.models import Member
from apps.pickups.core.life import HAND_OVER, TAKE_OVER
from apps.pickups.models import Pickup, Standby
from apps.pickups.operations.take_step import Act, begin_step, tell

FACT = "pickup_handed_over"


class CannotHandOver(Conflict):
    """The other person cannot go, or somebody was faster."""

    code = "cannot_hand_over"


@transaction.atomic
def hand_over_pickup(
    group: Group, pickup_uuid: UUID, act: Act, *, to: Member
) -> tuple[Pickup, bool]:
    """`act.step` is `HAND_OVER`. The neighbour is asked and answers anew; it still goes to the
    same digester. Fact: `pickup_handed_over`."""
    assert act.step is HAND_OVER
    pickup, is_new = begin_step(group, pickup_uuid, act)
    if not is_new:
        return pickup, False
    if to.group_id != group.pk or to.left_at is not None:
        raise CannotHandOver(_("This person is not in the group. Choose somebody else."))
    if pickup.fetcher_id == to.pk:
        raise CannotHandOver(
            _("%(name)s goes already. Choose somebody else."), figures={"name": to.name}
        )
    _give_to(pickup, to, act)
    return pickup, True


@transaction.atomic
def take_over_pickup(group: Group, pickup_uuid: UUID, act: Act) -> tuple[Pickup, bool]:
    """`act.step` is `TAKE_OVER`, by somebody on standby; the first who says so goes."""
    assert act.step is TAKE_OVER
    who = act.actor.member
    pickup, is_new = begin_step(group, pickup_uuid, act)
    if not is_new:
        return pickup, False
    if who is None or not Standby.objects.of(group).filter(member=who).exists():
        raise CannotHandOver(_("Only people on standby can step in. Ask a coordinator."))
    before = (
        pickup.events.filter(step=TAKE_OVER.name, revision=pickup.revision)
        .exclude(client_key=act.client_key)
        .select_related("by")
        .last()
    )
    if before is not None:
        raise CannotHandOver(
            _("%(name)s was faster and goes. Thank you for standing by."),
            figures={"name": before.by.name if before.by else "–"},
        )
    _give_to(pickup, who, act)
    return pickup, True


def _give_to(pickup: Pickup, to: Member, act: Act) -> None:
    pickup.fetcher = to
    pickup.late_till_min = None
    pickup.save(update_fields=["fetcher", "late_till_min"])
    tell(pickup, act, {"to": str(to.uuid)}, kind=FACT)
