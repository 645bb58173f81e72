"""Who could take a pickup's waste instead, best first, and what that would do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.kernel.sentences import Sentence
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.pickups.queries.under_way import closed_pairs
from apps.planning.core.problem import Pair
from apps.planning.core.read_document import problem_of
from apps.planning.models import Plan, SecondHome
from apps.planning.queries.hours_left import left_of, passed_minutes
from apps.planning.queries.in_force import plans_in_force
from apps.planning.queries.meetings import PlaceHours, meeting, place_hours
from apps.planning.queries.preview_change import Asked, Preview, preview_change

LOOK_AT_HOMES = 12
"""Nearest homes that are tried."""

PARTS = (1.0, 0.5)
"""Shares of the waste that a home is asked for, the whole first."""


@dataclass(frozen=True, slots=True)
class NextHome:
    """A home that could take `amount_g` of the waste, as far as the announced plan knows."""

    digester: Digester
    amount_g: int
    whole_g: int
    distance_m: int
    effects: tuple[Sentence, ...]
    wishes_after: tuple[float, ...]

    @property
    def takes_all(self) -> bool:
        """Whether nothing is left to place."""
        return self.amount_g >= self.whole_g


def propose_next_homes(pickup: Pickup, *, now: datetime, most: int = 3) -> list[NextHome]:
    """Up to `most` homes in reach whose hours still meet the source's that day and that can keep
    within their limits: who stands by, those that take all, then by the plan's own wishes.

    Empty when no announced plan covers the day, or when nobody can.
    """
    group = pickup.group
    plan_id = plans_in_force(group, pickup.on, pickup.on).get(pickup.on)
    lines = list(pickup.lines.select_related("stream"))
    if plan_id is None or not lines:
        return []
    plan = Plan.objects.of(group).get(pk=plan_id)
    problem = problem_of(plan.document)
    day = (pickup.on - problem.starts_on).days
    known = {batch.code for batch in problem.batches}
    lines = [line for line in lines if f"{line.stream.code}@{line.batch_on}" in known]
    closed = {
        (source, digester)
        for source, digester, _on in closed_pairs(group, pickup.on, 1)
        if source == pickup.source.code
    }
    own = pickup.digester.code
    pairs = [
        pair
        for pair in problem.pairs
        if pair.source == pickup.source.code
        and pair.digester != own
        and (pair.source, pair.digester) not in closed
        and pair.meets_on_day[day]
    ]
    pairs.sort(key=lambda pair: (pair.distance_m, pair.digester))
    homes = {
        home.code: home
        for home in Digester.objects.of(group)
        .filter(code__in=[pair.digester for pair in pairs[:LOOK_AT_HOMES]])
        .select_related("household", "place")
    }
    bans = ((pickup.source.code, own, pickup.on),)
    passed_min = passed_minutes(pickup.on, now, group.time_zone)
    hours = place_hours(group, pickup.on, 1) if passed_min else None
    found = [
        home
        for pair in pairs[:LOOK_AT_HOMES]
        if pair.digester in homes
        and _meets_still(pickup, homes[pair.digester], pair, hours, passed_min)
        and (home := _try(plan, pickup, lines, homes[pair.digester], pair, bans)) is not None
    ]
    second = second_home(pickup, plan)
    found.sort(
        key=lambda home: (
            home.digester.code != second,
            not home.takes_all,
            home.wishes_after,
            home.distance_m,
        )
    )
    return found[:most]


def second_home(pickup: Pickup, plan: Plan) -> str:
    """Code of the home that the plan lets stand by for this pickup; empty without one."""
    row = (
        SecondHome.objects.of(pickup.group)
        .filter(plan=plan, source=pickup.source_id, instead_of=pickup.digester_id, on=pickup.on)
        .values_list("digester__code", flat=True)
        .first()
    )
    return row or ""


def _meets_still(
    pickup: Pickup, home: Digester, pair: Pair, hours: PlaceHours | None, passed_min: int
) -> bool:
    if hours is None:
        return True
    open_at = left_of(hours.of(pickup.source.place_id)[0], passed_min)
    return meeting(open_at, hours.of(home.place_id)[0], pair.distance_m) is not None


def _try(
    plan: Plan,
    pickup: Pickup,
    lines: Sequence,  # type: ignore[type-arg]
    home: Digester,
    pair: Pair,
    bans: tuple[tuple[str, str, object], ...],
) -> NextHome | None:
    whole_g = sum(line.planned_g for line in lines)
    for part in PARTS:
        amounts = [(line, int(line.planned_g * part)) for line in lines]
        pins = tuple(
            (line.stream.code, line.batch_on, home.code, pickup.on, amount_g)
            for line, amount_g in amounts
            if amount_g
        )
        preview = preview_change(plan, Asked(pins=pins, bans=bans))  # type: ignore[arg-type]
        if not preview.contradictions and not _anybody_starves(preview):
            return NextHome(
                digester=home,
                amount_g=sum(amount_g for _line, amount_g in amounts),
                whole_g=whole_g,
                distance_m=pair.distance_m,
                effects=preview.effects,
                wishes_after=tuple(after for _n, _b, after in preview.consequences.wishes),
            )
    return None


def _anybody_starves(preview: Preview) -> bool:
    return bool(preview.consequences.fall_below_minimum)


def without_home(group: Group, pickups: Iterable[Pickup]) -> list[Pickup]:
    """Of these, the ones whose waste still needs somebody: declined, failed or stopped since the
    plan of their day was announced. A plan announced later has decided about the waste."""
    ended = [
        each
        for each in pickups
        if each.state in (State.DECLINED, State.FAILED, State.WITHDRAWN) and _leaves_waste(each)
    ]
    if not ended:
        return []
    days = [each.on for each in ended]
    in_force = plans_in_force(group, min(days), max(days))
    announced_at = dict(
        Plan.objects.of(group)
        .filter(pk__in=set(in_force.values()))
        .values_list("pk", "announced_at")
    )
    return [
        each
        for each in ended
        if each.on in in_force and announced_at[in_force[each.on]] < each.changed_at
    ]


NO_WASTE = ("nothing_there", "spoiled", "foreign_matter", "composted")
"""Reasons of a failed pickup after which nothing is left to place."""


def _leaves_waste(pickup: Pickup) -> bool:
    """By the reason of its last step; a plan's own withdrawals leave none."""
    events = list(pickup.events.all())
    reason = events[-1].reason if events else ""
    if pickup.state == State.WITHDRAWN:
        return reason == "gas_smell"
    return reason not in NO_WASTE
