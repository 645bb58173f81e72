"""Pins that cannot be kept together, and the fewest to lift."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from apps.planning.core.arrays import build_model
from apps.planning.core.engine import Program, solve_whole
from apps.planning.core.model import Model
from apps.planning.core.problem import Pin, Problem
from apps.planning.core.relax import whole_part


def pinned_columns(model: Model) -> NDArray[np.bool_]:
    """Columns that move when nothing is planned but pins, started pickups and stock."""
    flow_count = len(model.flows.batch)
    free = np.ones(len(model.lower), dtype=bool)
    free[:flow_count] = False
    free[model.visits.column] = False
    for column in model.whole.values():
        free[column] = False
    forced = model.lower[model.visits.column] > 0.5
    free[:flow_count] = forced[model.flows.visit]
    free[model.visits.column[forced]] = True
    for (batch, digester, day), column in model.whole.items():
        if model.lower[column] > 0.5:
            free[column] = True
        del batch, digester, day
    in_forced = {
        (int(model.visits.source[v]), int(model.visits.digester[v]), int(model.visits.day[v]))
        for v in np.flatnonzero(forced)
    }
    source_at = {s.code: i for i, s in enumerate(model.problem.sources)}
    for (batch, digester, day), column in model.whole.items():
        source = source_at[model.problem.batches[batch].source]
        if (source, digester, day) in in_forced:
            free[column] = True
    return free


def find_pins_to_lift(problem: Problem, *, seed: int = 0) -> tuple[Pin, ...]:
    """The smallest set of pins without which the rest can be kept; empty when started pickups
    alone are impossible. `problem` is canonical."""
    if not problem.pins:
        return ()
    homes = {p.digester for p in problem.pins}
    model = build_model(replace(problem, pins=()))
    part = whole_part(model).program
    count, rows = len(part.lower), part.matrix.shape[0]
    batch_at = {b.code: i for i, b in enumerate(problem.batches)}
    digester_at = {d.code: i for i, d in enumerate(problem.digesters)}
    begun = {(p.batch, p.digester, p.day) for p in problem.started}
    pins = [p for p in problem.pins if (p.batch, p.digester, p.day) not in begun]
    flows = model.flows
    entries: list[tuple[int, int, float]] = []
    lower: list[float] = []
    upper: list[float] = []
    for i, pin in enumerate(pins):
        batch = problem.batches[batch_at[pin.batch]]
        digester = problem.digesters[digester_at[pin.digester]]
        least = pin.amount_g
        if least is None:
            least = min(batch.amount_g, digester.min_pickup_g)
            least = least if batch.divisible else batch.amount_g
        mine = np.flatnonzero(
            (flows.batch == batch_at[pin.batch])
            & (flows.digester == digester_at[pin.digester])
            & (flows.collect_day == pin.day)
        )
        row = rows + len(lower)
        # Kept: the flow is what is pinned; lifted: anything up to the batch.
        entries += [(row, int(c), 1.0) for c in mine]
        entries.append((row, count + i, least / 1000))
        lower.append(least / 1000)
        upper.append(np.inf)
        if pin.amount_g is not None:
            row = rows + len(lower)
            entries += [(row, int(c), 1.0) for c in mine]
            entries.append((row, count + i, -batch.amount_g / 1000))
            lower.append(-np.inf)
            upper.append(pin.amount_g / 1000)
    at = np.array([(r, c) for r, c, _ in entries], dtype=np.int64).reshape(-1, 2)
    extra = sparse.coo_matrix(
        ([v for _, _, v in entries], (at[:, 0] - rows, at[:, 1])),
        shape=(len(lower), count + len(pins)),
    )
    padded = sparse.hstack([part.matrix, sparse.csc_matrix((rows, len(pins)))])
    cost = np.zeros(count + len(pins))
    cost[count:] = 1.0
    high = part.upper.copy()
    elsewhere = ~np.isin(model.home, [digester_at[h] for h in homes]) & (model.home >= 0)
    slack = np.zeros(count, dtype=bool)
    slack[: len(flows.batch)] = True
    slack[model.visits.column] = True
    high[elsewhere & slack & (part.lower <= 0)] = 0.0
    answer = solve_whole(
        Program(
            cost=cost,
            matrix=sparse.vstack([padded, extra], format="csc"),
            row_lower=np.concatenate([part.row_lower, lower]),
            row_upper=np.concatenate([part.row_upper, upper]),
            lower=np.concatenate([part.lower, np.zeros(len(pins))]),
            upper=np.concatenate([high, np.ones(len(pins))]),
            integral=np.concatenate([part.integral, np.ones(len(pins), dtype=bool)]),
        ),
        seed=seed,
        close=0.5,
    )
    if answer.x is None:
        return ()
    return tuple(pin for i, pin in enumerate(pins) if answer.x[count + i] > 0.5)
