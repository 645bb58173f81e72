"""What is being carried while a plan is made: as good as in its home's bin.

So it is never moved, it counts against the bin and is fed when the limits let it, and a limit
that has fallen meanwhile cannot make planning impossible. The book of grams says the same as
soon as it has arrived.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from apps.feedstock.core.materials import Material
from apps.groups.models import Group
from apps.planning.core import problem as core
from apps.planning.queries.batches import BatchRow, split_batch_code
from apps.supply.models import Stream
from apps.supply.queries.expected_supply import shelf_days


def less_under_way(rows: Sequence[BatchRow], started: Sequence[core.Placement]) -> list[BatchRow]:
    """The batches without what is under way of them."""
    carried: Counter[str] = Counter()
    for each in started:
        carried[each.batch] += each.amount_g
    left = (
        replace(
            row,
            amount_g=row.amount_g - carried[row.code],
            low_g=max(0, row.low_g - carried[row.code]),
            high_g=max(0, row.high_g - carried[row.code]),
        )
        for row in rows
    )
    return [row for row in left if row.amount_g > 0]


def with_under_way(
    group: Group,
    digesters: Sequence[core.Digester],
    materials: Mapping[str, Material],
    started: Sequence[core.Placement],
    first: date,
) -> tuple[core.Digester, ...]:
    """The digesters with it in their bins; what is too old to feed is left out. One query."""
    if not started:
        return tuple(digesters)
    found: dict[str, dict[str, core.StockLot]] = {
        home.code: {lot.code: lot for lot in home.stock} for home in digesters
    }
    batches = {each.batch: split_batch_code(each.batch) for each in started}
    streams = {
        stream.code: stream
        for stream in Stream.objects.of(group)
        .filter(code__in={code for code, _on in batches.values()})
        .select_related("material")
    }
    for each in started:
        code, batch_on = batches[each.batch]
        stream = streams[code]
        material = stream.material.code
        kept_days = shelf_days(group, stream, materials[material], batch_on)
        feed_by_day = (batch_on - first).days + kept_days
        if feed_by_day < 0 or each.digester not in found:
            continue
        arrives_on = first + timedelta(days=each.day)
        lot_code = f"{each.digester}:{material}@{arrives_on.isoformat()}"
        there = found[each.digester].get(lot_code)
        found[each.digester][lot_code] = core.StockLot(
            code=lot_code,
            material=material,
            amount_g=each.amount_g + (there.amount_g if there else 0),
            feed_by_day=min(feed_by_day, there.feed_by_day) if there else feed_by_day,
        )
    return tuple(replace(home, stock=tuple(found[home.code].values())) for home in digesters)
