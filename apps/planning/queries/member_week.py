"""What the announced plan means for one person: who comes, what comes, what is fed, day by day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Q

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.people.models import Member
from apps.planning.models import Assignment, DailyFeed, LeftOver, Plan, PlanStatus
from apps.supply.models import Source

WEEK_DAYS = 7


@dataclass
class Visit:
    """One source to one digester on one day, with grams by the name of the material."""

    source: Source
    digester: Digester
    from_min: int
    till_min: int
    distance_m: int
    materials_g: dict[str, int] = field(default_factory=dict)

    @property
    def amount_g(self) -> int:
        """All that is carried."""
        return sum(self.materials_g.values())


@dataclass
class HomeDay:
    """One digester on one day: what is brought and what is fed."""

    on: date
    brings: list[Visit] = field(default_factory=list)
    feed: DailyFeed | None = None

    @property
    def brought_g(self) -> int:
        """Grams that come that day."""
        return sum(each.amount_g for each in self.brings)


@dataclass
class SourceDay:
    """One source on one day: who comes, and what nobody takes."""

    on: date
    visits: list[Visit] = field(default_factory=list)
    left_over: list[LeftOver] = field(default_factory=list)

    @property
    def taken_g(self) -> int:
        """Grams that somebody comes for that day."""
        return sum(each.amount_g for each in self.visits)


@dataclass(frozen=True)
class MemberWeek:
    """The next seven days by own digester and own source; no plan: nothing is announced."""

    plan: Plan | None
    homes: tuple[tuple[Digester, tuple[HomeDay, ...]], ...]
    sources: tuple[tuple[Source, tuple[SourceDay, ...]], ...]


def member_week(group: Group, member: Member, on: date) -> MemberWeek:
    """Seven days from `on`; a constant number of queries."""
    plan = Plan.objects.of(group).filter(status=PlanStatus.ANNOUNCED).first()
    digesters = list(Digester.objects.of(group).filter(household=member).select_related("place"))
    sources = list(Source.objects.of(group).filter(contact=member).select_related("place"))
    dates = list(days_from(on, WEEK_DAYS))
    homes = {each.pk: {day: HomeDay(day) for day in dates} for each in digesters}
    givers = {each.pk: {day: SourceDay(day) for day in dates} for each in sources}
    if plan is not None:
        _fill(group, plan, member, dates, homes, givers)
    return MemberWeek(
        plan,
        tuple((each, tuple(homes[each.pk].values())) for each in digesters),
        tuple((each, tuple(givers[each.pk].values())) for each in sources),
    )


def _fill(
    group: Group,
    plan: Plan,
    member: Member,
    dates: list[date],
    homes: dict[int, dict[date, HomeDay]],
    givers: dict[int, dict[date, SourceDay]],
) -> None:
    span = (dates[0], dates[-1])
    visits: dict[tuple[date, int, int], Visit] = {}
    mine = Q(digester__household=member) | Q(source__contact=member)
    for each in (
        Assignment.objects.of(group)
        .filter(mine, plan=plan, on__range=span)
        .select_related(
            "source__place", "digester__place", "digester__household", "stream__material"
        )
        .order_by("on", "from_min", "source__code", "digester__code", "stream__code")
    ):
        visit = visits.get((each.on, each.source_id, each.digester_id))
        if visit is None:
            visit = Visit(each.source, each.digester, each.from_min, each.till_min, each.distance_m)
            visits[each.on, each.source_id, each.digester_id] = visit
            if each.digester_id in homes:
                homes[each.digester_id][each.on].brings.append(visit)
            if each.source_id in givers:
                givers[each.source_id][each.on].visits.append(visit)
        name = each.stream.material.name
        visit.materials_g[name] = visit.materials_g.get(name, 0) + each.amount_g
    for feed in DailyFeed.objects.of(group).filter(
        plan=plan, digester__household=member, on__range=span
    ):
        homes[feed.digester_id][feed.on].feed = feed
    for left in (
        LeftOver.objects.of(group)
        .filter(plan=plan, stream__source__contact=member)
        .select_related("stream__material", "destination")
    ):
        # What is kept for some days is left over on the last day somebody could have come.
        on = left.batch_on + timedelta(days=left.stream.kept_days)
        by_day = givers[left.stream.source_id]
        by_day.get(on, by_day[dates[-1]] if on > dates[-1] else by_day[dates[0]]).left_over.append(
            left
        )
