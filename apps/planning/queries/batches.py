"""What the sources will have, less what was already collected or promised of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Max

from apps.groups.models import Group
from apps.ledger.queries.grams_per_day import collected_per_day
from apps.planning.models import Assignment
from apps.planning.queries.in_force import plans_in_force
from apps.supply.models import Stream
from apps.supply.queries.calendar import day_effects
from apps.supply.queries.expected_supply import Expected, expected_supply


@dataclass(frozen=True)
class BatchRow:
    """One stream's grams of one day that are still to be placed, as expected; of ten such days
    about two have less than `low_g` and two more than `high_g`."""

    stream: Stream
    on: date
    amount_g: int
    low_g: int
    high_g: int
    collect_by_on: date
    feed_by_on: date

    @property
    def code(self) -> str:
        """Stable: the stream and the day it arose."""
        return batch_code(self.stream.code, self.on)


def batch_code(stream_code: str, on: date) -> str:
    """The code by which a problem, a plan and a file know a batch."""
    return f"{stream_code}@{on.isoformat()}"


def split_batch_code(code: str) -> tuple[str, date]:
    """Stream code and day of a batch's code."""
    stream_code, _at, on = code.rpartition("@")
    return stream_code, date.fromisoformat(on)


def open_batches(group: Group, first: date, days: int) -> list[BatchRow]:
    """By code, batches that can be collected within the days and have grams left.

    A day before `first` counts while its source keeps the waste. What was collected since is
    taken off the oldest first; so is what the announced plan has promised before `first`.
    A constant number of queries.
    """
    streams = Stream.objects.of(group).filter(is_active=True, source__is_active=True)
    kept_days = streams.aggregate(most=Max("kept_days"))["most"] or 0
    since = first - timedelta(days=kept_days)
    effects = day_effects(group)
    expected = [
        *(expected_supply(group, since, kept_days, effects) if kept_days else ()),
        *expected_supply(group, first, days, effects),
    ]
    last = first + timedelta(days=days - 1)
    taken: dict[tuple[int, int], dict[date, int]] = defaultdict(dict)
    for (account, material, on), amount_g in collected_per_day(group, since, last).items():
        taken[account, material][on] = amount_g
    promised: dict[tuple[int, date], int] = defaultdict(int)
    in_force = plans_in_force(group, since, first - timedelta(days=1)) if kept_days else {}
    for stream_id, batch_on, amount_g, on, plan_id in (
        Assignment.objects.of(group)
        .filter(plan__in=set(in_force.values()), on__gte=since, on__lt=first)
        .values_list("stream_id", "batch_on", "amount_g", "on", "plan_id")
    ):
        if in_force.get(on) == plan_id:
            promised[stream_id, batch_on] += amount_g
    by_stream: dict[int, list[Expected]] = defaultdict(list)
    for each in expected:
        if min(each.collect_by_on, each.feed_by_on) >= first:
            by_stream[each.stream.pk].append(each)
    rows = []
    for of_stream in by_stream.values():
        stream = of_stream[0].stream
        left = _less_taken(of_stream, taken[stream.source.account_id, stream.material_id])
        for each in of_stream:
            unpromised_g = each.forecast.p50_g - promised[stream.pk, each.on]
            amount_g = min(left[each.on], unpromised_g)
            if amount_g > 0:
                gone_g = each.forecast.p50_g - amount_g
                rows.append(
                    BatchRow(
                        stream=stream,
                        on=each.on,
                        amount_g=amount_g,
                        low_g=min(amount_g, max(0, each.forecast.p20_g - gone_g)),
                        high_g=max(amount_g, each.forecast.p80_g - gone_g),
                        collect_by_on=each.collect_by_on,
                        feed_by_on=each.feed_by_on,
                    )
                )
    return sorted(rows, key=lambda row: row.code)


def _less_taken(expected: list[Expected], taken: Mapping[date, int]) -> dict[date, int]:
    """What is left of each day's grams when each collection takes the oldest still kept."""
    left = {each.on: each.forecast.p50_g for each in expected}
    for on in sorted(taken):
        still_g = taken[on]
        for each in expected:
            if each.on <= on <= each.collect_by_on:
                part_g = min(still_g, left[each.on])
                left[each.on] -= part_g
                still_g -= part_g
    return left
