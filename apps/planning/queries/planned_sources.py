"""Sources and batches as the planner sees them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from apps.groups.models import Group
from apps.ledger.queries.grams_per_day import last_collected_on
from apps.planning.core import problem as core
from apps.planning.models import Assignment
from apps.planning.queries.batches import BatchRow
from apps.planning.queries.in_force import plans_in_force
from apps.supply.core.forecast import reckoned_g
from apps.supply.models import Source


def planned_sources(
    group: Group, sources: Mapping[str, Source], first: date, as_of: date
) -> tuple[core.Source, ...]:
    """With the days since somebody last came: what the ledger knows, and what is announced from
    `as_of` on, before the first day; a visit announced earlier and not written down did not
    happen."""
    collected = last_collected_on(group)
    announced: dict[str, date] = {}
    in_force = plans_in_force(group, as_of, first - timedelta(days=1))
    for code, on, plan_id in (
        Assignment.objects.of(group)
        .filter(plan__in=set(in_force.values()), on__gte=as_of, on__lt=first)
        .values_list("source__code", "on", "plan_id")
    ):
        if in_force.get(on) == plan_id:
            announced[code] = max(on, announced.get(code, on))
    built = []
    for code, source in sources.items():
        visits = [
            on
            for on in (collected.get(source.account_id), announced.get(code))
            if on is not None and on < first
        ]
        built.append(
            core.Source(
                code=code,
                max_homes_per_day=source.max_homes_per_day,
                waited_days=(first - max(visits)).days if visits else None,
            )
        )
    return tuple(built)


def planned_batches(rows: Sequence[BatchRow], first: date) -> tuple[core.Batch, ...]:
    """What may be placed, in the planner's days."""
    return tuple(_batch(row, first) for row in rows)


def _batch(row: BatchRow, first: date) -> core.Batch:
    feed_by = (row.feed_by_on - first).days
    return core.Batch(
        code=row.code,
        source=row.stream.source.code,
        material=row.stream.material.code,
        amount_g=reckoned_g(row.low_g, row.amount_g),
        ready_day=(row.on - first).days,
        collect_by_day=min((row.collect_by_on - first).days, feed_by),
        feed_by_day=feed_by,
        divisible=row.stream.is_divisible,
        low_g=row.low_g,
        high_g=row.high_g,
    )
