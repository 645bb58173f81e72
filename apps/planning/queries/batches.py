"""What the sources will have, less what was already collected or promised of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from apps.feedstock.core.materials import Material
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.ledger.queries.grams_per_day import collected_per_day
from apps.planning.models import Assignment, PlanStatus
from apps.supply.core.holding import shelf_life_days
from apps.supply.models import Offer, Stream

MOST_KEPT_DAYS = 14
"""Longest that a stream may say it keeps its waste."""


DAY_OVER_MEAN_K = 5.0
"""Warmest hour of a day over the mean of its month. Assumed."""

UNKNOWN_AIR_C = 28.0
"""Where a place's temperatures are not known: warm, so that nothing waits too long. Assumed."""


def shelf_days(group: Group, material: Material, on: date) -> int:
    """Days after `on` by which the material must be fed."""
    normals_c = group.air_normals_c
    warmest_c = normals_c[on.month - 1] + DAY_OVER_MEAN_K if normals_c else UNKNOWN_AIR_C
    return shelf_life_days(material.holding, warmest_c, material.groups)


@dataclass(frozen=True)
class BatchRow:
    """One stream's grams of one day that are still to be placed. Days after `on`: the last one
    to collect it, the last one to feed it."""

    stream: Stream
    on: date
    amount_g: int
    kept_days: int
    feed_days: int

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


def open_batches(
    group: Group, first: date, days: int, materials: Mapping[str, Material]
) -> list[BatchRow]:
    """By code, batches that can be collected within the days and have grams left; four queries.

    A day before `first` counts while its source keeps the waste. What was collected since is
    taken off the oldest first; so is what the announced plan has promised before `first`.
    """
    streams = list(
        Stream.objects.of(group)
        .filter(is_active=True, source__is_active=True)
        .select_related("source", "source__contact", "material")
        .order_by("code")
    )
    since = first - timedelta(days=MOST_KEPT_DAYS)
    last = first + timedelta(days=days - 1)
    said_g = {
        (offer.stream_id, offer.on): offer.amount_g
        for offer in Offer.objects.of(group).filter(on__gte=since, on__lte=last)
    }
    taken: dict[tuple[int, int], dict[date, int]] = defaultdict(dict)
    for (account, material, on), amount_g in collected_per_day(group, since, last).items():
        taken[account, material][on] = amount_g
    promised: dict[tuple[int, date], int] = defaultdict(int)
    for stream_id, batch_on, amount_g in (
        Assignment.objects.of(group)
        .filter(plan__status=PlanStatus.ANNOUNCED, on__gte=since, on__lt=first)
        .values_list("stream_id", "batch_on", "amount_g")
    ):
        promised[stream_id, batch_on] += amount_g
    rows = []
    for stream in streams:
        start = first - timedelta(days=stream.kept_days)
        offered = {
            on: said_g.get((stream.pk, on), stream.typical_g(on))
            for on in days_from(start, stream.kept_days + days)
        }
        left = _less_taken(
            offered, taken[stream.source.account_id, stream.material_id], stream.kept_days
        )
        for on, left_g in left.items():
            amount_g = min(left_g, max(0, offered[on] - promised[stream.pk, on]))
            if amount_g > 0:
                feed_days = stream.feed_within_days
                if feed_days is None:
                    feed_days = shelf_days(group, materials[stream.material.code], on)
                rows.append(BatchRow(stream, on, amount_g, stream.kept_days, feed_days))
    return sorted(rows, key=lambda row: row.code)


def _less_taken(
    offered: Mapping[date, int], taken: Mapping[date, int], kept_days: int
) -> dict[date, int]:
    """What is left of each day's grams when each collection takes the oldest still kept."""
    left = dict(sorted(offered.items()))
    for on in sorted(taken):
        still_g = taken[on]
        for arose, left_g in left.items():
            if arose <= on <= arose + timedelta(days=kept_days):
                part_g = min(still_g, left_g)
                left[arose] = left_g - part_g
                still_g -= part_g
    return left


def streams_by_code(rows: Sequence[BatchRow]) -> dict[str, Stream]:
    """Every stream that has a batch."""
    return {row.stream.code: row.stream for row in rows}
