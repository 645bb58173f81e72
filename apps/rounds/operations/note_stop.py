"""What a carrier says of a stop: done, or it did not work out. Once, whoever sends it again.

The pickup goes through its own life below (collected, delivered, failed), in the same
transaction; what was fetched is on the cart until then (see `cart`).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.kernel.quantities import in_thousands
from apps.ledger.models import AccountKind
from apps.people.models import Member
from apps.pickups.core.life import COLLECT, COMPLETE, FAIL, Party, State
from apps.pickups.core.life import Step as PickupStep
from apps.pickups.core.weights import is_unusual, share_out
from apps.pickups.models import Pickup, PickupLine
from apps.pickups.operations.answer_pickup import REASONS, collect_pickup, end_pickup
from apps.pickups.operations.complete_pickup import (
    NotYet,
    Weight,
    WeightUnusual,
    complete_pickup,
)
from apps.pickups.operations.take_off_cart import take_off_cart
from apps.pickups.operations.take_step import Act, Actor, KeyUsedElsewhere
from apps.rounds.models import Round, RoundEvent, RoundState, RoundStop, StopSide, StopState
from apps.rounds.operations.cart import put_on_cart, set_cart_aside
from apps.rounds.operations.change_order import locked_round
from apps.rounds.operations.errors import RoundRefused, StopRefused
from apps.rounds.operations.write_tour import end_when_through

WENT_TO = {
    "composted": AccountKind.COMPOSTED,
    "returned": AccountKind.RETURNED,
    "discarded": AccountKind.DISCARDED,
}
"""Where waste goes that could not be brought to its home."""

DONE, PROBLEM = "done", "problem"


@dataclass(frozen=True, slots=True)
class StopAct:
    """Who says it, under which key, and when it happened (a phone without a network tells it
    later). `for_whom`: the carrier in whose place a coordinator acts."""

    by: Member
    client_key: str
    now: datetime
    happened_at: datetime
    by_coordinator: bool = False
    for_whom: Member | None = None

    def on_pickup(self, step: PickupStep, reason: str = "") -> Act:
        """The pickup's own step."""
        party = Party.COORDINATOR if self.by_coordinator else Party.FETCHER
        return Act(
            step=step,
            actor=Actor(self.by, party, self.for_whom),
            client_key=f"round-{self.client_key}",
            now=self.happened_at,
            reason=reason,
        )


@transaction.atomic
def note_stop_done(
    group: Group,
    stop_uuid: UUID,
    act: StopAct,
    *,
    amount_g: int | None = None,
    is_confirmed: bool = False,
) -> tuple[RoundStop, bool]:
    """Return the stop and whether this was new. `amount_g`: net grams fetched, or brought; None:
    as planned, or all that was fetched. Three times the plan asks again (`WeightUnusual`)."""
    found, stop = locked_round(group, stop_uuid)
    if not _begin(found, stop, act, DONE):
        return stop, False
    pickup = _locked(group, stop)
    if stop.side == StopSide.FETCH:
        _fetch(found, pickup, act, amount_g, is_confirmed=is_confirmed)
    else:
        _check_fetched(found, stop)
        _bring(group, pickup, act, amount_g)
    _write(found, stop, act, DONE, StopState.DONE)
    return stop, True


@transaction.atomic
def note_stop_problem(
    group: Group, stop_uuid: UUID, act: StopAct, *, reason: str, went_to: str = ""
) -> tuple[RoundStop, bool]:
    """The pickup did not happen. Where the waste is on the cart, `went_to` (of `WENT_TO`) says
    what became of it. The rest of the round is for `replan_round` to order anew."""
    found, stop = locked_round(group, stop_uuid)
    if not _begin(found, stop, act, PROBLEM):
        return stop, False
    if reason not in REASONS[FAIL.name]:
        raise StopRefused(_("Choose what went wrong."), field="reason")
    pickup = _locked(group, stop)
    if stop.side == StopSide.BRING:
        _check_fetched(found, stop)
        _set_load_aside(found, pickup, act, went_to)
    if not (stop.side == StopSide.BRING and pickup.state == State.FAILED):
        end_pickup(group, pickup.uuid, act.on_pickup(FAIL, reason))
    found.stops.filter(pickup=pickup, state=StopState.WAITING).exclude(pk=stop.pk).update(
        state=StopState.GONE, is_live=False
    )
    stop.reason = reason
    _write(found, stop, act, PROBLEM, StopState.PROBLEM)
    return stop, True


def _begin(found: Round, stop: RoundStop, act: StopAct, step: str) -> bool:
    """Whether this is new; or refuse."""
    earlier = RoundEvent.objects.of(found.group).filter(client_key=act.client_key).first()
    if earlier is not None:
        if (earlier.stop_uuid, earlier.step) != (stop.uuid, step):
            raise KeyUsedElsewhere
        return False
    if found.state == RoundState.DRAFT:
        raise RoundRefused(_("This round is not announced yet. Ask whoever built it."))
    if found.state == RoundState.DROPPED:
        raise RoundRefused(_("This round was dropped. Do not go; the homes fetch their own."))
    if stop.state == StopState.DONE:
        zone = ZoneInfo(found.group.time_zone)
        at = stop.happened_at.astimezone(zone) if stop.happened_at else act.now
        raise StopRefused(
            _("This stop was already noted as done at %(time)s. Nothing more is to be done."),
            figures={"time": f"{at:%H:%M}"},
        )
    if stop.state == StopState.PROBLEM:
        raise StopRefused(_("It was already noted that this stop did not work out."))
    if stop.state == StopState.GONE:
        raise StopRefused(_("This stop is not needed any more. Look at the round again."))
    if found.on > local_date(act.happened_at, found.group.time_zone):
        raise NotYet(
            _("This round is for %(day)s. Note it when it has been carried out."),
            figures={"day": found.on.isoformat()},
        )
    return True


def _locked(group: Group, stop: RoundStop) -> Pickup:
    """Its pickup as it is now: the home or the source may answer at the same moment."""
    found: Pickup = (
        Pickup.objects.of(group)
        .select_for_update(of=("self",))
        .select_related("source__account")
        .get(pk=stop.pickup_id)
    )
    return found


def _check_fetched(found: Round, stop: RoundStop) -> None:
    fetched = found.stops.filter(
        pickup=stop.pickup_id, side=StopSide.FETCH, state=StopState.DONE
    ).exists()
    if not fetched:
        pickup = Pickup.objects.of(found.group).select_related("source").get(pk=stop.pickup_id)
        raise StopRefused(
            _("Note first that you fetched it at %(place)s; it cannot be brought before."),
            figures={"place": pickup.source.name},
        )


def _fetch(
    found: Round, pickup: Pickup, act: StopAct, amount_g: int | None, *, is_confirmed: bool
) -> None:
    """Collected, and its grams into the carrier's account."""
    collect_pickup(found.group, pickup.uuid, act.on_pickup(COLLECT))
    lines = list(pickup.lines.select_related("stream__material"))
    planned_g = sum(line.planned_g for line in lines)
    given_g = planned_g if amount_g is None else amount_g
    if is_unusual(given_g, planned_g) and not is_confirmed:
        raise WeightUnusual(
            _("%(given)s kg is far more than the %(planned)s kg planned. Is it right?"),
            figures={"given": in_thousands(given_g), "planned": in_thousands(planned_g)},
        )
    if given_g <= 0:
        raise StopRefused(_("0 kg is not a pickup. Say that it did not work out, and why."))
    grams: dict[Material, int] = defaultdict(int)
    shares = share_out(given_g, [line.planned_g for line in lines])
    for line, share_g in zip(lines, shares, strict=True):
        line.collected_g = share_g
        grams[line.stream.material] += share_g
    PickupLine.unscoped.bulk_update(lines, ["collected_g"])
    put_on_cart(
        found.carrier,
        pickup,
        grams,
        happened_at=act.happened_at,
        now=act.now,
        by_uuid=act.by.uuid,
    )


def _bring(group: Group, pickup: Pickup, act: StopAct, amount_g: int | None) -> None:
    """Off the cart, and from the source to the bin; where the home was first and has booked that
    itself, nothing is left to book."""
    if pickup.state == State.DELIVERED:
        take_off_cart(group, pickup, now=act.now, by_uuid=act.by.uuid)
        return
    lines = list(pickup.lines.all())
    fetched_g = sum(line.collected_g or 0 for line in lines)
    brought_g = fetched_g if amount_g is None else amount_g
    if brought_g > fetched_g:
        raise StopRefused(
            _("%(brought)s kg cannot be brought of the %(fetched)s kg fetched. Check both."),
            field="amount_g",
            figures={"brought": in_thousands(brought_g), "fetched": in_thousands(fetched_g)},
        )
    shares = share_out(brought_g, [line.collected_g or 0 for line in lines])
    complete_pickup(
        group,
        pickup.uuid,
        act.on_pickup(COMPLETE),
        weights={
            line.uuid: Weight(line.collected_g or 0, share_g)
            for line, share_g in zip(lines, shares, strict=True)
        },
        is_confirmed=True,
    )


def _set_load_aside(found: Round, pickup: Pickup, act: StopAct, went_to: str) -> None:
    if went_to not in WENT_TO:
        raise StopRefused(
            _("The waste is on the cart. Say where it went: compost, back, or thrown away."),
            field="went_to",
        )
    set_cart_aside(
        found.carrier,
        pickup,
        WENT_TO[went_to],
        happened_at=act.happened_at,
        now=act.now,
        by_uuid=act.by.uuid,
    )


def _write(found: Round, stop: RoundStop, act: StopAct, step: str, state: StopState) -> None:
    """The stop, its event, and the end of the round after its last stop."""
    try:
        with transaction.atomic():
            RoundEvent.unscoped.create(
                group=found.group,
                round=found,
                stop_uuid=stop.uuid,
                step=step,
                reason=stop.reason,
                happened_at=act.happened_at,
                recorded_at=act.now,
                by=act.by,
                client_key=act.client_key,
            )
    except IntegrityError as error:
        raise KeyUsedElsewhere from error
    _to_the_done(found, stop)
    stop.state, stop.happened_at = state, act.happened_at
    stop.is_live = state == StopState.DONE
    stop.save()
    end_when_through(found)


def _to_the_done(found: Round, stop: RoundStop) -> None:
    """Stops that are through stand first, in the order in which they happened."""
    waiting = list(found.stops.filter(state=StopState.WAITING).order_by("number", "id"))
    first = min(each.number for each in waiting)
    moved = [each for each in waiting if each.pk != stop.pk and each.number < stop.number]
    for each in moved:
        each.number += 1
    RoundStop.unscoped.bulk_update(moved, ["number"])
    stop.number = first
