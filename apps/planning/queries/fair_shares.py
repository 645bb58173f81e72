"""Shares of the last 28 days: cooking minutes of homes, visits of sources, and what stands
behind each, for whoever asks why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.models import Digester, StageName
from apps.digesters.queries.day_facts import wanted_vs_g
from apps.digesters.queries.day_limits import limits_from
from apps.digesters.queries.records import read_records
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.ledger.queries.grams_per_day import collected_per_day
from apps.planning.core.fairness import Share, jain_index
from apps.planning.models import DailyFeed
from apps.planning.queries.in_force import plans_in_force
from apps.planning.queries.planned_digesters import FAIR_DAYS
from apps.supply.models import Source, Stream


@dataclass(frozen=True, slots=True)
class ShareDay:
    """One day behind a home's share [g VS]: planned, fed, the most stored with the plan; None
    where no announced plan covered the day."""

    on: date
    planned_vs_g: int | None
    fed_vs_g: int
    max_vs_g: int | None


@dataclass(frozen=True, slots=True)
class HomeShare:
    """A digester's cooking minutes over the days, with the days behind them, newest first."""

    digester: Digester
    minutes: Share
    days: tuple[ShareDay, ...]

    @property
    def percent(self) -> int | None:
        """Of what is due; None where nothing is."""
        return round(100 * self.minutes.of_due) if self.minutes.due else None


@dataclass(frozen=True, slots=True)
class SourceShare:
    """A source's days with a visit, of the days on which it usually has something."""

    source: Source
    visits: Share

    @property
    def percent(self) -> int:
        """Of what is due."""
        return round(100 * self.visits.of_due)


@dataclass(frozen=True, slots=True)
class FairShares:
    """Both lists by code, and how even each is (Jain's index, 1 when all have the same part)."""

    first_on: date
    last_on: date
    homes: tuple[HomeShare, ...]
    sources: tuple[SourceShare, ...]
    homes_index: float
    sources_index: float


def fair_shares(group: Group, today: date) -> FairShares:
    """The 28 days that ended yesterday. A constant number of queries.

    Minutes are those of one burner that what was fed gives, by the gas counted for each gram of
    volatile solids; what a digester can take is the target stored with each day's plan, and
    today's target on days that no plan covered.
    """
    first, last = today - timedelta(days=FAIR_DAYS), today - timedelta(days=1)
    homes = _homes(group, first, today)
    sources = _sources(group, first, last)
    return FairShares(
        first,
        last,
        homes,
        sources,
        _index([each.minutes for each in homes]),
        _index([each.visits for each in sources]),
    )


def _index(shares: Collection[Share]) -> float:
    counted = [min(each.of_due, 2.0) for each in shares if each.due > 0]
    return jain_index(counted) if counted else 1.0


def _homes(group: Group, first: date, today: date) -> tuple[HomeShare, ...]:
    records = read_records(group, today)
    span = list(days_from(first, FAIR_DAYS))
    in_force = plans_in_force(group, first, span[-1])
    feeds = {
        (feed.digester_id, feed.on): feed
        for feed in DailyFeed.objects.of(group).filter(
            plan__in=set(in_force.values()), on__range=(first, span[-1])
        )
        if in_force.get(feed.on) == feed.plan_id
    }
    rows = []
    for _code, each in sorted(limits_from(records, today, 1).items()):
        digester = each.digester
        if digester.stage in (StageName.CLOSED, StageName.DRY):
            continue
        fed = each.records.fed.vs_g()
        per_minute = max(1e-9, wanted_vs_g(60, digester.burner_ml_per_h, records.rules) / 60)
        got_vs = sum(fed.get(on, 0) for on in span)
        planned = [feeds.get((digester.pk, on)) for on in span]
        today_vs = each.days[0].limits.target_vs_g
        could_vs = sum(feed.target_vs_g if feed else today_vs for feed in planned)
        days = []
        for on in reversed(span):
            feed = feeds.get((digester.pk, on))
            days.append(
                ShareDay(
                    on,
                    feed.feed_vs_g if feed else None,
                    fed.get(on, 0),
                    feed.max_vs_g if feed else None,
                )
            )
        minutes = Share(
            round(got_vs / per_minute),
            digester.wanted_minutes_per_day * FAIR_DAYS,
            round(could_vs / per_minute),
        )
        rows.append(HomeShare(digester, minutes, tuple(days)))
    return tuple(rows)


def _sources(group: Group, first: date, last: date) -> tuple[SourceShare, ...]:
    visited: Counter[int] = Counter()
    for account_id, on in {
        (account_id, on) for account_id, _material, on in collected_per_day(group, first, last)
    }:
        visited[account_id] += first <= on <= last
    weekdays: dict[int, set[int]] = {}
    for stream in Stream.objects.of(group).filter(is_active=True):
        has = {day for day, amount_g in enumerate(stream.weekday_g) if amount_g}
        weekdays.setdefault(stream.source_id, set()).update(has)
    span = list(days_from(first, FAIR_DAYS))
    rows = []
    for source in Source.objects.of(group).filter(is_active=True).order_by("code"):
        days = sum(on.weekday() in weekdays.get(source.pk, ()) for on in span)
        rows.append(SourceShare(source, Share(visited[source.account_id], days, days)))
    return tuple(rows)
