"""Rows of what a plan may never do, by the numbers of `problem`: 1 is in the columns."""

from __future__ import annotations

import numpy as np

from apps.planning.core.layout import Layout
from apps.planning.core.model import KG, Floats, Ints
from apps.planning.core.rows import Rows, full


def put_batches(rows: Rows, it: Layout) -> None:
    """2: no more of a batch than there is; an indivisible one whole, and once."""
    flows, visits, batch_kg = it.flows, it.visits, it.figures.batch_kg
    columns = np.arange(len(flows.batch))
    first = rows.under(batch_kg)
    rows.put(first + flows.batch, columns, 1.0)
    whole = visits.whole
    if not whole.any():
        return
    first = rows.under(full(len(batch_kg), 1.0))
    rows.put(first + visits.parts[whole, 0], visits.part_column[whole], 1.0)
    first = rows.open(full(len(whole), 0.0), np.where(whole, 0.0, np.inf))
    chosen = whole[visits.part_of_flow]
    rows.put(first + visits.part_of_flow[chosen], columns[chosen], 1.0)
    rows.put(
        first + np.flatnonzero(whole),
        visits.part_column[whole],
        -batch_kg[visits.parts[whole, 0]],
    )


def put_caps(rows: Rows, it: Layout) -> None:
    """3: caps of each digester-day; the rounding room is the most any one flow asks for."""
    figures, flows, stock = it.figures, it.flows, it.stock
    columns = np.arange(len(flows.batch))
    day_key = flows.digester * figures.days + flows.feed_day
    stock_key = stock.keys[:, 0] * figures.days + stock.keys[:, 2]
    for weight, stock_weight, cap in (
        (flows.usable, np.ones(len(stock.keys)), figures.feed_cap),
        (flows.vs, stock.vs, figures.vs_cap),
        (flows.slurry, stock.slurry, figures.slurry_cap),
    ):
        room = np.zeros(cap.size)
        np.maximum.at(room, day_key, weight * flows.room_kg)
        first = rows.under(_less_room(cap.reshape(-1), room))
        rows.put(first + day_key, columns, weight)
        rows.put(first + stock_key, stock.column, stock_weight)


def _less_room(limit: Floats, room: Floats) -> Floats:
    return np.asarray(np.maximum(limit - room, np.minimum(limit, 0.0)))


def put_stock(rows: Rows, it: Layout) -> None:
    """No more of a lot is fed than there is."""
    first = rows.under(it.stock.lot_kg)
    rows.put(first + it.stock.lot, it.stock.column, 1.0)


def put_bins(rows: Rows, it: Layout, upper: Floats) -> None:
    """5: everything that may lie in the bin on a day, before feeding."""
    figures, flows, days = it.figures, it.flows, it.figures.days
    digesters = figures.problem.digesters
    alive = np.zeros((figures.homes, days))
    for h, digester in enumerate(digesters):
        for lot in digester.stock:
            if lot.feed_by_day >= 0:
                alive[h, : lot.feed_by_day + 1] += lot.amount_g / KG
    over_full = alive > figures.bin_kg[:, None] + 1e-9
    columns, on = _days_in_bin(flows.collect_day, flows.feed_day)
    home = flows.digester[columns]
    upper[columns[over_full[home, on]]] = 0.0
    room = np.zeros(figures.homes * days)
    np.maximum.at(room, home * days + on, (flows.in_bin * flows.room_kg)[columns])
    limit = np.where(over_full, np.inf, figures.bin_kg[:, None] - alive).reshape(-1)
    first = rows.under(_less_room(limit, room))
    rows.put(first + home * days + on, columns, flows.in_bin[columns])
    for (h, lot_at, day), column in zip(
        it.stock.keys.tolist(), it.stock.column.tolist(), strict=True
    ):
        last = min(digesters[h].stock[lot_at].feed_by_day, days - 1)
        later = np.arange(day + 1, last + 1)
        rows.put(first + h * days + later, np.full(len(later), column), -1.0)


def _days_in_bin(collect_day: Ints, feed_day: Ints) -> tuple[Ints, Ints]:
    """Each flow's column once for every day on which it lies in the bin, and that day."""
    spans = feed_day - collect_day + 1
    columns = np.repeat(np.arange(len(spans)), spans)
    start = np.repeat(np.cumsum(spans) - spans, spans)
    return columns, np.arange(len(columns)) - start + collect_day[columns]


def put_visits(rows: Rows, it: Layout, upper: Floats) -> None:
    """6: what a visit carries, and how many there are a day."""
    visits, count = it.visits, len(it.visits.keys)
    has_whole = np.zeros(count, dtype=bool)
    has_whole[visits.visit_of_part[visits.whole]] = True
    upper[visits.column[(visits.cap_kg < visits.least_kg - 1e-9) & ~has_whole]] = 0.0
    alone_at = visits.visit_of_part[visits.alone]
    amounts = np.ones(count, dtype=bool)
    amounts[alone_at] = False  # A batch alone in its visit has rows of its own.
    alone_kg = np.zeros(count)
    alone_kg[alone_at] = it.figures.batch_kg[visits.parts[visits.alone, 0]]
    too_heavy = ~amounts & ~visits.exempt & (visits.cap_kg * (1 + 1e-12) < alone_kg)
    upper[visits.column[too_heavy]] = 0.0

    linked = np.flatnonzero(amounts[visits.of_flow])
    these = np.flatnonzero(amounts)
    first = rows.under(full(count, 0.0))
    rows.put(first + visits.of_flow[linked], linked, 1.0)
    rows.put(first + these, visits.column[these], -visits.cap_kg[these])
    first = rows.over(full(count, 0.0))
    rows.put(first + visits.of_flow[linked], linked, 1.0)
    rows.put(first + these, visits.column[these], -visits.least_kg[these])
    own = visits.own
    if own.any():
        at, columns = visits.visit_of_part[own], visits.part_column[own]
        rows.put(first + at, columns, visits.least_kg[at])
        first = rows.under(full(len(at), 0.0))
        rows.put(first + np.arange(len(at)), columns, 1.0)
        rows.put(first + np.arange(len(at)), visits.column[at], -1.0)

    problem, days = it.figures.problem, it.figures.days
    for owner, limits in (
        (visits.keys[:, 0], [s.max_homes_per_day for s in problem.sources]),
        (visits.keys[:, 1], [d.max_visits_per_day for d in problem.digesters]),
    ):
        owner_day = np.asarray(owner * days + visits.keys[:, 2])
        most = np.repeat(np.array(limits, dtype=float), days)
        forced = np.bincount(owner_day[visits.exempt], minlength=len(most))
        first = rows.under(np.maximum(most, forced))
        rows.put(first + owner_day, visits.column, 1.0)


def put_pins(rows: Rows, it: Layout, lower: Floats, upper: Floats) -> None:
    """8: pins and started pickups."""
    if not it.fixed.amounts:
        return
    visits = it.visits
    part_at = {tuple(key): i for i, key in enumerate(visits.parts.tolist())}
    for key, (at_least, at_most) in sorted(it.fixed.amounts.items()):
        if key not in part_at:
            continue
        part = part_at[key]
        first = rows.open(np.array([at_least / KG]), np.array([at_most / KG]))
        rows.put(first, np.flatnonzero(visits.part_of_flow == part), 1.0)
        column = visits.column[visits.visit_of_part[part]]
        lower[column] = upper[column] = 1.0
