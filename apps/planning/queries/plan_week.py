"""A plan as its people look at it: by day, by home, by source. A constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from apps.digesters.models import Digester
from apps.kernel.days import days_from
from apps.planning.models import (
    Assignment,
    Ban,
    DailyFeed,
    LeftOver,
    Pin,
    Plan,
    SecondHome,
    SteadyPair,
)
from apps.supply.models import Source


@dataclass(frozen=True)
class PlannedPickup:
    """One source to one digester on one day; `lines` are its batches."""

    source: Source
    digester: Digester
    on: date
    from_min: int
    till_min: int
    distance_m: int
    lines: tuple[Assignment, ...]
    is_steady: bool
    is_pinned: bool
    second: str = ""
    """Name of the home that is asked first when this one does not go."""

    @property
    def amount_g(self) -> int:
        """All that is carried."""
        return sum(line.amount_g for line in self.lines)


@dataclass
class PlanDay:
    """One day of the plan."""

    on: date
    pickups: list[PlannedPickup] = field(default_factory=list)
    feeds: list[DailyFeed] = field(default_factory=list)
    left_over: list[LeftOver] = field(default_factory=list)


@dataclass
class HomeWeek:
    """One digester over the days: what is brought and what is fed."""

    digester: Digester
    pickups: dict[date, list[PlannedPickup]]
    feeds: dict[date, DailyFeed] = field(default_factory=dict)
    recipes: dict[date, str] = field(default_factory=dict)
    binding: dict[date, str] = field(default_factory=dict)
    """The rule behind each day's maximum, as it was when the plan was made."""


@dataclass
class SourceWeek:
    """One source over the days: who comes, and what nobody takes."""

    source: Source
    waited_days: int | None
    pickups: dict[date, list[PlannedPickup]]
    left_over: list[LeftOver] = field(default_factory=list)

    @property
    def next_on(self) -> date | None:
        """The first day somebody comes; None: nobody in these days."""
        return min((on for on, pickups in self.pickups.items() if pickups), default=None)


@dataclass(frozen=True)
class PlanWeek:
    """The same plan in three orders: days by date, homes and sources by code."""

    plan: Plan
    days: tuple[PlanDay, ...]
    homes: tuple[HomeWeek, ...]
    sources: tuple[SourceWeek, ...]
    pins: tuple[Pin, ...]
    bans: tuple[Ban, ...]

    @property
    def placed_g(self) -> int:
        """Grams that somebody takes."""
        return sum(pickup.amount_g for day in self.days for pickup in day.pickups)

    @property
    def left_over_g(self) -> int:
        """Grams that nobody takes."""
        return sum(left.amount_g for day in self.days for left in day.left_over)


def plan_week(plan: Plan) -> PlanWeek:
    """Everything about the plan that a page or the API shows; nine queries."""
    group = plan.group
    dates = list(days_from(plan.starts_on, plan.days))
    pins = list(
        Pin.objects.of(group)
        .filter(on__range=(dates[0], dates[-1]))
        .select_related("stream__source", "stream__material", "digester")
        .order_by("on", "stream__code", "digester__code")
    )
    pickups = _pickups(plan, pins)
    digesters = {row.code: row for row in Digester.objects.of(group).select_related("household")}
    sources = {row.code: row for row in Source.objects.of(group).select_related("contact")}
    days = {on: PlanDay(on) for on in dates}
    homes = {
        row["code"]: HomeWeek(digesters[row["code"]], {on: [] for on in dates})
        for row in plan.document["digesters"]
    }
    givers = {
        row["code"]: SourceWeek(sources[row["code"]], row["waited_days"], {on: [] for on in dates})
        for row in plan.document["sources"]
    }
    for pickup in pickups:
        days[pickup.on].pickups.append(pickup)
        homes[pickup.digester.code].pickups[pickup.on].append(pickup)
        givers[pickup.source.code].pickups[pickup.on].append(pickup)
    for feed in DailyFeed.objects.of(group).filter(plan=plan).select_related("digester"):
        days[feed.on].feeds.append(feed)
        homes[feed.digester.code].feeds[feed.on] = feed
    for left in (
        LeftOver.objects.of(group)
        .filter(plan=plan)
        .select_related("stream__source", "stream__material", "destination")
    ):
        days[min(max(left.batch_on, dates[0]), dates[-1])].left_over.append(left)
        givers[left.stream.source.code].left_over.append(left)
    for row in plan.document["recipes"]:
        homes[row["digester"]].recipes[date.fromisoformat(row["on"])] = row["words"]
    for row in plan.document["digester_days"]:
        homes[row["digester"]].binding[date.fromisoformat(row["on"])] = row["binding_rule"]
    bans = Ban.objects.of(group).select_related("source", "digester")
    return PlanWeek(
        plan=plan,
        days=tuple(days.values()),
        homes=tuple(homes.values()),
        sources=tuple(givers.values()),
        pins=tuple(pins),
        bans=tuple(bans.order_by("source__code", "digester__code", "on")),
    )


def _pickups(plan: Plan, pins: Iterable[Pin]) -> list[PlannedPickup]:
    pinned = {(pin.stream_id, pin.batch_on, pin.digester_id, pin.on) for pin in pins}
    steady = set(SteadyPair.objects.of(plan.group).values_list("source_id", "digester_id"))
    second = {
        (row.on, row.source_id, row.instead_of_id): row.digester.name
        for row in SecondHome.objects.of(plan.group).filter(plan=plan).select_related("digester")
    }
    lines: dict[tuple[date, str, str], list[Assignment]] = defaultdict(list)
    for row in (
        Assignment.objects.of(plan.group)
        .filter(plan=plan)
        .select_related("stream__material", "source", "digester__household")
        .order_by("on", "source__code", "digester__code", "stream__code", "batch_on")
    ):
        lines[row.on, row.source.code, row.digester.code].append(row)
    return [
        PlannedPickup(
            source=rows[0].source,
            digester=rows[0].digester,
            on=rows[0].on,
            from_min=rows[0].from_min,
            till_min=rows[0].till_min,
            distance_m=rows[0].distance_m,
            lines=tuple(rows),
            is_steady=(rows[0].source_id, rows[0].digester_id) in steady,
            is_pinned=any(
                (row.stream_id, row.batch_on, row.digester_id, row.on) in pinned for row in rows
            ),
            second=second.get((rows[0].on, rows[0].source_id, rows[0].digester_id), ""),
        )
        for rows in lines.values()
    ]
