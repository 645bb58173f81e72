"""What each wish costs, and the rows that count what is missing."""

from __future__ import annotations

import numpy as np

from apps.planning.core.layout import Layout
from apps.planning.core.model import (
    BELOW,
    CARRYING,
    CHANGES,
    KG,
    LEFT,
    OVERDUE,
    SHORTFALL,
    UNFAIR,
    UNSTEADY,
    Floats,
)
from apps.planning.core.problem import PPM
from apps.planning.core.result import SHORTFALL_PIECES
from apps.planning.core.rows import Rows, full


def put_feeding(rows: Rows, it: Layout, upper: Floats, costs: Floats) -> None:
    """Below the minimum, and the shortfall in pieces; a few grams more than asked for, as
    rounding takes some off."""
    digesters, homes = it.figures.problem.digesters, np.arange(it.figures.homes)
    room = it.room_g / KG
    least = np.array([d.min_vs_g / KG for d in digesters], dtype=float)
    first = rows.over(np.where(least > 0, least + room, 0.0))
    _put_fed(rows, it, first)
    rows.put(first + homes, it.below, 1.0)
    upper[it.below] = least + room
    costs[BELOW, it.below] = 1.0

    target = np.array([sum(d.target_vs_g) / KG for d in digesters], dtype=float)
    spare = np.where(target > 0, room, 0.0)
    first = rows.over(target + spare)
    _put_fed(rows, it, first)
    begin = 0
    for piece, (end, weight) in enumerate(SHORTFALL_PIECES):
        missing = it.short[:, piece]
        rows.put(first + homes, missing, 1.0)
        upper[missing] = target * (end - begin) / PPM + (spare if end == PPM else 0.0)
        costs[SHORTFALL, missing] = weight
        begin = end


def _put_fed(rows: Rows, it: Layout, first: int) -> None:
    """VS surely fed over all days, a row a digester."""
    rows.put(first + it.flows.digester, np.arange(len(it.flows.batch)), it.flows.sure_vs)
    rows.put(first + it.stock.keys[:, 0], it.stock.column, it.stock.vs)


def put_overdue(rows: Rows, it: Layout, upper: Floats, costs: Floats) -> None:
    """Sources that wait too long: a visit, or it counts."""
    if not it.overdue:
        return
    columns = np.array(list(it.overdue.values()), dtype=np.int64)
    upper[columns] = 1.0
    costs[OVERDUE, columns] = 1.0
    row_of = np.full(len(it.figures.problem.sources), -1, dtype=np.int64)
    row_of[list(it.overdue)] = np.arange(len(columns))
    source = it.visits.keys[:, 0]
    waiting = row_of[source] >= 0
    first = rows.over(full(len(columns), 1.0))
    rows.put(first + row_of[source[waiting]], it.visits.column[waiting], 1.0)
    rows.put(first + np.arange(len(columns)), columns, 1.0)


def put_changes(rows: Rows, it: Layout, upper: Floats, costs: Floats) -> None:
    """Visits that appear or vanish beyond the budget."""
    figures, visits = it.figures, it.visits
    problem = figures.problem
    upper[it.change] = len(visits.keys) + len(problem.previous)
    budget = problem.rules.change_budget
    if budget is None:
        return
    before = {
        (
            int(figures.batch_source[figures.batch_at[p.batch]]),
            figures.digester_at[p.digester],
            p.day,
        )
        for p in problem.previous
        if p.batch in figures.batch_at and p.digester in figures.digester_at
    }
    was = np.array([tuple(key) in before for key in visits.keys.tolist()], dtype=bool)
    gone = len(before) - int(was.sum())
    first = rows.under(np.array([float(budget - gone - int(was.sum()))]))
    rows.put(first, visits.column, np.where(was, -1.0, 1.0))
    rows.put(first, np.array([it.change]), -1.0)
    costs[CHANGES, it.change] = 1.0


def count_placing(it: Layout, costs: Floats, offsets: Floats) -> None:
    """What is left over, carrying, steady pairs and fair shares: they need no rows."""
    figures, flows, visits = it.figures, it.flows, it.visits
    problem, count = figures.problem, len(it.flows.batch)
    costs[LEFT, :count] = -1.0
    costs[LEFT, it.stock.spoils] = -1.0
    offsets[LEFT] = it.stock.spoiling_kg + float(figures.batch_kg.sum())
    costs[CARRYING, :count] = np.where(
        flows.pair >= 0, figures.pair_km[flows.pair] if len(figures.pair_km) else 0.0, 0.0
    )
    costs[CARRYING, visits.column] = problem.rules.trip_g_m / 1e6
    steady = {
        (figures.source_at[p.source], figures.digester_at[p.digester])
        for p in problem.pairs
        if p.steady
    }
    costs[UNSTEADY, visits.column] = [
        0.0 if (s, d) in steady else 1.0 for s, d in visits.keys[:, :2].tolist()
    ]
    fills = [d.recent_fill_ppm for d in problem.digesters]
    mean_fill = sum(fills) // len(fills) if fills else 0
    ahead = np.array([max(0, fill - mean_fill) / PPM for fill in fills], dtype=float)
    costs[UNFAIR, :count] = flows.vs * (ahead[flows.digester] if count else 0.0)
    if len(it.stock.keys):
        costs[UNFAIR, it.stock.column] = it.stock.vs * ahead[it.stock.keys[:, 0]]
