"""A round as pages and the API show it: stops in order, with what, for whom, where and when."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.kernel.days import local_instant
from apps.kernel.sentences import Sentence
from apps.pickups.models import Pickup
from apps.places.models import Place
from apps.places.queries.visible_address import (
    SEEN_AFTER,
    SEEN_BEFORE,
    Viewer,
    VisibleAddress,
    visible_address,
)
from apps.rounds.core.handling import lift_limit_g
from apps.rounds.models import Round, RoundStop, StopSide, StopState
from apps.rounds.queries.rest_problem import CARRIED
from apps.rounds.queries.round_problem import load_g


@dataclass(frozen=True, slots=True)
class ShownStop:
    """`pails`: into how many the load is shared out; `what`: its materials with grams."""

    stop: RoundStop
    pickup: Pickup
    place: Place
    name: str
    for_whom: str
    address: VisibleAddress
    amount_g: int
    pails: int
    what: Sequence[tuple[Material, int]]
    is_on_cart: bool = False
    """Fetched, and to be brought here, or said where it went."""

    @property
    def is_fetch(self) -> bool:
        """Else it is brought."""
        return self.stop.side == StopSide.FETCH

    @property
    def is_cancelled(self) -> bool:
        """Its pickup ended elsewhere and the round was not ordered anew yet."""
        is_over = self.pickup.state not in CARRIED and not self.is_on_cart
        return self.stop.state == StopState.WAITING and is_over

    @property
    def is_waiting(self) -> bool:
        """Still to come."""
        return self.stop.state == StopState.WAITING and not self.is_cancelled


@dataclass(frozen=True, slots=True)
class ShownLeft:
    """A pickup that is in no round, and why."""

    pickup: Pickup | None
    why: Sentence


@dataclass(frozen=True, slots=True)
class ShownRound:
    """`on_cart_g` at this moment, as far as stops were noted."""

    round: Round
    stops: Sequence[ShownStop]
    left: Sequence[ShownLeft]
    cautions: Sequence[Sentence]
    on_cart_g: int

    @property
    def waiting(self) -> list[ShownStop]:
        """Stops to come, in order."""
        return [each for each in self.stops if each.is_waiting]

    @property
    def next_stop(self) -> ShownStop | None:
        """The first of those."""
        return next(iter(self.waiting), None)

    @property
    def done_count(self) -> int:
        """Stops that are through, as they should be."""
        return sum(each.stop.state == StopState.DONE for each in self.stops)

    @property
    def needed_count(self) -> int:
        """Stops that are through or to come; those not needed any more do not count."""
        return sum(each.stop.state != StopState.GONE for each in self.stops)


def show_round(found: Round, viewer: Viewer) -> ShownRound:
    """Five queries, however many stops."""
    stops = list(
        found.stops.select_related(
            "pickup__source__place", "pickup__digester__place", "pickup__digester__household"
        )
        .prefetch_related("pickup__lines__stream__material")
        .order_by("number", "id")
    )
    fetched_ids = {s.pickup_id for s in stops if s.side == "fetch" and s.state == "done"}
    shown = [_stop(found, each, viewer, fetched_ids) for each in stops]
    fetched = {s.pickup.pk: s.amount_g for s in shown if s.is_fetch and s.stop.state == "done"}
    for each in shown:
        if not each.is_fetch and each.stop.state in ("done", "problem"):
            fetched.pop(each.pickup.pk, None)
    return ShownRound(
        found,
        shown,
        _left(found),
        [Sentence(each["template"], each["values"]) for each in found.figures.get("cautions", ())],
        sum(fetched.values()),
    )


def carrier_viewer(found: Round, now: datetime) -> Viewer:
    """What the carrier may see: every place of the round, from a day before it to a day after."""
    zone = found.group.time_zone
    begins_at = local_instant(found.on, time(0), zone)
    ends_at = local_instant(found.on + timedelta(days=1), time(0), zone)
    if not begins_at - SEEN_BEFORE <= now <= ends_at + SEEN_AFTER:
        return Viewer()
    ends = found.stops.values_list("pickup__source__place_id", "pickup__digester__place_id")
    own = {found.carrier.start_id, found.carrier.end_id}
    return Viewer(matched_place_ids=frozenset(own | {place for pair in ends for place in pair}))


def rounds_of_day(group: Group, on: object) -> list[Round]:
    """Those that were not dropped, with their carriers."""
    return list(
        Round.objects.of(group)
        .filter(on=on)
        .exclude(state="dropped")
        .select_related("carrier__member", "group")
        .prefetch_related("stops")
    )


def _stop(found: Round, stop: RoundStop, viewer: Viewer, fetched_ids: Collection[int]) -> ShownStop:
    pickup = stop.pickup
    is_fetch = stop.side == StopSide.FETCH
    site = pickup.source if is_fetch else pickup.digester
    household = pickup.digester.household
    amount_g = load_g(pickup)
    limit_g = lift_limit_g(found.carrier.member.carry_limit_g)
    lines = list(pickup.lines.all())
    return ShownStop(
        stop=stop,
        pickup=pickup,
        place=site.place,
        name=site.name,
        for_whom=household.name if household else pickup.digester.name,
        address=visible_address(site.place, viewer),
        amount_g=amount_g,
        pails=max(1, math.ceil(amount_g / limit_g)),
        what=[
            (line.stream.material, line.planned_g if line.collected_g is None else line.collected_g)
            for line in lines
        ],
        is_on_cart=(
            not is_fetch and stop.state == StopState.WAITING and stop.pickup_id in fetched_ids
        ),
    )


def _left(found: Round) -> list[ShownLeft]:
    pickups = {
        str(each.uuid): each
        for each in Pickup.objects.of(found.group)
        .filter(uuid__in=[row["pickup"] for row in found.left])
        .select_related("source", "digester")
    }
    return [
        ShownLeft(pickups.get(row["pickup"]), Sentence(row["template"], row["values"]))
        for row in found.left
    ]
