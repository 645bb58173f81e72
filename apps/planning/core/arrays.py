"""A planning problem put into arrays: `build_model` (what they mean is in `model`)."""

from __future__ import annotations

import numpy as np

from apps.planning.core import limit_rows, wish_rows
from apps.planning.core.figures import read_figures
from apps.planning.core.layout import Layout, lay_out
from apps.planning.core.model import ROUNDING_ROOM_G, Flows, Ints, Model, Visits
from apps.planning.core.problem import Problem
from apps.planning.core.result import WISHES
from apps.planning.core.rows import Rows, full
from apps.planning.core.share_rows import put_shares


def build_model(problem: Problem, room_g: int = ROUNDING_ROOM_G) -> Model:
    """The model of a canonical, checked problem (see `sort_problem`, `check_problem`).

    `room_g` is kept free for rounding; with 0 the relaxation's optimum is a valid bound."""
    it = lay_out(read_figures(problem), room_g)
    flows, visits, stock = it.flows, it.visits, it.stock
    flow_count = len(flows.batch)
    lower, upper = full(it.count, 0.0), full(it.count, np.inf)
    upper[:flow_count] = flows.most_kg
    upper[stock.column] = stock.lot_kg[stock.lot]
    integral = np.zeros(it.count, dtype=bool)
    for columns in (visits.column, visits.part_column[visits.own]):
        integral[columns] = True
        upper[columns] = 1.0

    costs, offsets = np.zeros((len(WISHES), it.count)), np.zeros(len(WISHES))
    rows = Rows()
    limit_rows.put_batches(rows, it)
    limit_rows.put_caps(rows, it)
    limit_rows.put_stock(rows, it)
    limit_rows.put_bins(rows, it, upper)
    limit_rows.put_visits(rows, it, upper)
    limit_rows.put_pins(rows, it, lower, upper)
    put_shares(rows, it, upper)
    wish_rows.put_feeding(rows, it, upper, costs)
    wish_rows.put_overdue(rows, it, upper, costs)
    wish_rows.put_changes(rows, it, upper, costs)
    wish_rows.count_placing(it, costs, offsets)

    matrix, row_lower, row_upper = rows.close(it.count)
    home = _homes(it)
    source, digester, day = visits.keys.T.copy()
    return Model(
        problem=problem,
        matrix=matrix,
        row_lower=row_lower,
        row_upper=row_upper,
        lower=lower,
        upper=np.maximum(upper, lower),
        integral=integral,
        costs=costs,
        offsets=offsets,
        home=home,
        flows=Flows(
            flows.batch,
            flows.digester,
            flows.pair,
            flows.collect_day,
            flows.feed_day,
            visits.of_flow,
            flows.usable,
            flows.vs,
        ),
        visits=Visits(visits.column, source, digester, day, visits.cap_kg),
        stock_columns=tuple(
            (h, lot, day, column)
            for (h, lot, day), column in zip(
                stock.keys.tolist(), stock.column.tolist(), strict=True
            )
        ),
        whole={
            tuple(visits.parts[part].tolist()): int(visits.part_column[part])
            for part in np.flatnonzero(visits.whole)
        },
        home_columns=_columns_by_home(it, home),
        overdue=it.overdue,
    )


def _homes(it: Layout) -> Ints:
    """The digester of each column, -1 where it has none."""
    home = np.full(it.count, -1, dtype=np.int64)
    visits = it.visits
    home[: len(it.flows.batch)] = it.flows.digester
    home[visits.column] = visits.keys[:, 1]
    home[visits.part_column[visits.own]] = visits.parts[visits.own, 1]
    home[it.stock.column] = it.stock.keys[:, 0]
    home[it.below] = np.arange(it.figures.homes)
    home[it.short] = np.arange(it.figures.homes)[:, None]
    return home


def _columns_by_home(it: Layout, home: Ints) -> tuple[Ints, ...]:
    """Each digester's columns, then the shared ones that it touches."""
    order = np.argsort(home, kind="stable")
    starts = np.searchsorted(home[order], np.arange(it.figures.homes + 1))
    waiting: list[set[int]] = [set() for _ in range(it.figures.homes)]
    for source, h in np.unique(it.visits.keys[:, :2], axis=0).tolist():
        if source in it.overdue:
            waiting[h].add(it.overdue[source])
    return tuple(
        np.concatenate(
            [
                order[starts[h] : starts[h + 1]],
                np.array([*sorted(waiting[h]), it.change], dtype=np.int64),
            ]
        )
        for h in range(it.figures.homes)
    )
