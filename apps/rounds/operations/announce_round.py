"""Announce a round, or drop it."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.people.models import Member
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.rounds.models import Round, RoundLink, RoundState, RoundStop, StopState
from apps.rounds.operations.errors import LiftingCaution, RoundRefused
from apps.rounds.queries.round_problem import OPEN
from apps.rounds.verifier import verify


@transaction.atomic
def announce_round(
    group: Group,
    round_uuid: UUID,
    *,
    now: datetime,
    announced_by: Member | None,
    is_confirmed: bool = False,
) -> Round:
    """Only when the verifier finds nothing; with lifting cautions only `is_confirmed`. From then
    on the carrier fetches these pickups. Fact: `round_announced`."""
    found = locked(group, round_uuid)
    if found.state == RoundState.ANNOUNCED:
        return found
    if found.state != RoundState.DRAFT:
        raise RoundRefused(_("This round is over. Build a new one."))
    # Locked in the order in which a new plan locks them.
    pickups = list(
        Pickup.objects.of(group)
        .select_for_update(of=("self",))
        .filter(pk__in=found.stops.values("pickup"))
    )
    if not pickups:
        raise RoundRefused(_("This round has no stops. Nothing can be announced."))
    if any(pickup.state not in OPEN for pickup in pickups):
        raise RoundRefused(
            _("Pickups of this round changed since it was built. Build it again, then announce it.")
        )
    if faults := verify(found.document):
        raise RoundRefused(
            _("The check of this round found %(count)s mistakes. Build it again."),
            figures={"count": len(faults)},
        )
    if found.figures["cautions"] and not is_confirmed:
        raise LiftingCaution(
            _("There are cautions about lifting. Read them, then announce the round.")
        )
    found.state, found.announced_at = RoundState.ANNOUNCED, now
    found.save(update_fields=["state", "announced_at"])
    Pickup.unscoped.filter(pk__in=[each.pk for each in pickups]).update(
        fetcher=found.carrier.member
    )
    _tell(found, "round_announced", now, announced_by)
    return found


@transaction.atomic
def drop_round(
    group: Group, round_uuid: UUID, *, now: datetime, dropped_by: Member | None
) -> Round:
    """Give the pickups back to their homes. Refused while something is on the cart. Fact, when it
    had been announced: `round_dropped`."""
    found = locked(group, round_uuid)
    if found.state == RoundState.DROPPED:
        return found
    if found.state == RoundState.OVER:
        raise RoundRefused(_("This round is over. Nothing in it can be changed."))
    if on_cart(found):
        raise RoundRefused(
            _("Something is on the cart. Bring it home first, or say where it went.")
        )
    was_announced = found.state == RoundState.ANNOUNCED
    waiting = found.stops.filter(state=StopState.WAITING)
    for pickup in (
        Pickup.objects.of(group)
        .select_for_update(of=("self",))
        .filter(pk__in=waiting.values("pickup"), state__in=OPEN)
        .select_related("digester")
    ):
        Pickup.unscoped.filter(pk=pickup.pk).update(fetcher=pickup.digester.household_id)
    found.stops.update(is_live=False)
    found.state = RoundState.DROPPED
    found.save(update_fields=["state"])
    RoundLink.unscoped.filter(round=found, ended_at=None).update(ended_at=now)
    if was_announced:
        _tell(found, "round_dropped", now, dropped_by)
    return found


def locked(group: Group, round_uuid: UUID) -> Round:
    """The round, its row locked."""
    found: Round | None = (
        Round.objects.of(group)
        .select_for_update(of=("self",))
        .select_related("carrier__member", "carrier__group", "carrier__account", "group")
        .filter(uuid=round_uuid)
        .first()
    )
    if found is None:
        raise Http404
    return found


def on_cart(found: Round) -> list[RoundStop]:
    """Stops to which something that was fetched is still to be brought."""
    stops = list(found.stops.select_related("pickup"))
    fetched = {
        stop.pickup_id for stop in stops if stop.side == "fetch" and stop.state == StopState.DONE
    }
    return [
        stop
        for stop in stops
        if stop.side == "bring"
        and stop.state == StopState.WAITING
        and stop.pickup_id in fetched
        and stop.pickup.state != State.DELIVERED
    ]


def _tell(found: Round, kind: str, now: datetime, by: Member | None) -> None:
    record_fact(
        found.group,
        kind,
        happened_at=now,
        subject_uuid=found.uuid,
        payload={"on": found.on.isoformat(), "version": found.version},
        actor_uuid=by.uuid if by else None,
    )
