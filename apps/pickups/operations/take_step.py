"""Take one step in a pickup's life: once, by somebody who may, from a state that allows it.

The pickup's row is locked first, so that two phones at once see each other's step. A repeat
under the same client key returns the pickup as it is now and writes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict
from apps.people.models import Member
from apps.pickups.core.life import Party, State, Step, StepRefused, check_step
from apps.pickups.models import Pickup, PickupEvent

UPSETTING = frozenset({State.DECLINED.value, State.FAILED.value})
"""States that ask for another plan, which says whose pickup it was."""


class KeyUsedElsewhere(Conflict):
    """The client key stands for a step of another pickup, or another step."""

    code = "key_used_elsewhere"

    def __init__(self) -> None:
        super().__init__(
            _("This was already sent for something else. Reload the page and try again.")
        )


class PickupChanged(Conflict):
    """The person answered to an older revision."""

    code = "pickup_changed"


@dataclass(frozen=True, slots=True)
class Actor:
    """Who acts, in what capacity, and for whom if that is somebody else."""

    member: Member | None
    party: Party
    acted_for: Member | None = None


@dataclass(frozen=True, slots=True)
class Act:
    """One step as it is asked for. `revision` is what the person saw; None: whatever it is."""

    step: Step
    actor: Actor
    client_key: str
    now: datetime
    reason: str = ""
    note: str = ""
    revision: int | None = None


def take_step(group: Group, pickup_uuid: UUID, act: Act) -> tuple[Pickup, bool]:
    """Return the pickup and whether this was new. Facts: `pickup_<state reached>`."""
    with transaction.atomic():
        pickup, is_new = begin_step(group, pickup_uuid, act)
        if is_new:
            tell(pickup, act)
    return pickup, is_new


def begin_step(group: Group, pickup_uuid: UUID, act: Act) -> tuple[Pickup, bool]:
    """Lock, check and write the step inside the caller's transaction."""
    try:
        pickup: Pickup = Pickup.objects.of(group).select_for_update().get(uuid=pickup_uuid)
    except Pickup.DoesNotExist as error:
        raise Http404 from error
    pickup.group = group
    if act.step.may_come_again and _was_taken(pickup, act):
        return pickup, False
    try:
        check_step(act.step, State(pickup.state), act.actor.party, act.reason)
    except StepRefused:
        # A repeat finds its own step already taken; anybody else's is refused.
        if _was_taken(pickup, act):
            return pickup, False
        raise
    if act.revision is not None and act.revision != pickup.revision:
        raise PickupChanged(
            _("The plan changed since you opened this page. Look again before you answer.")
        )
    _write_event(pickup, act)
    pickup.state = act.step.target or pickup.state
    pickup.changed_at = act.now
    Pickup.unscoped.filter(pk=pickup.pk).update(state=pickup.state, changed_at=pickup.changed_at)
    return pickup, True


def _was_taken(pickup: Pickup, act: Act) -> bool:
    earlier = PickupEvent.unscoped.filter(group=pickup.group_id, client_key=act.client_key).first()
    if earlier is None:
        return False
    if (earlier.pickup_id, earlier.step) != (pickup.pk, act.step.name):
        raise KeyUsedElsewhere
    return True


def _write_event(pickup: Pickup, act: Act) -> None:
    try:
        PickupEvent.unscoped.create(
            group=pickup.group,
            pickup=pickup,
            revision=pickup.revision,
            step=act.step.name,
            from_state=pickup.state,
            to_state=act.step.target or pickup.state,
            reason=act.reason,
            note=act.note,
            happened_at=act.now,
            by=act.actor.member,
            acted_for=act.actor.acted_for,
            client_key=act.client_key,
        )
    except IntegrityError as error:
        raise KeyUsedElsewhere from error


def tell(
    pickup: Pickup, act: Act, figures: Mapping[str, Any] | None = None, *, kind: str = ""
) -> None:
    """Record the fact of the step, for notices, re-planning and learning; its kind is the state
    reached unless another is given."""
    record_fact(
        pickup.group,
        kind or f"pickup_{pickup.state}",
        happened_at=act.now,
        subject_uuid=pickup.uuid,
        payload={
            "on": pickup.on.isoformat(),
            "reason": act.reason,
            **(_ends(pickup) if pickup.state in UPSETTING else {}),
            **(figures or {}),
        },
        actor_uuid=act.actor.member.uuid if act.actor.member else None,
    )


def _ends(pickup: Pickup) -> dict[str, str]:
    return {"source": pickup.source.code, "digester": pickup.digester.code}
