"""How good any plan could be: a valid bound for each wish, given the wishes before it.

Wish k's bound is the least value that is left to plans at least as good as this one in every
wish before k. Three ways, all valid whatever the engine's last digits:

-   few homes: the relaxation, wish after wish from one basis to the next;
-   many: prices of the relaxation's rows by a first-order method. For any prices the
    least of cost less priced rows over the columns' own limits is a bound (A. Neumaier and
    O. Shcherbina, Safe bounds in linear and mixed-integer linear programming, Mathematical
    Programming 99 (2004) 283-296, from memory), so that they need not be exact;
-   if asked: with the relaxation's duals as prices of what homes share (batches, a source's
    visits, held wishes), every group of homes is solved whole against those prices. By
    Lagrangian duality the sum is valid for any prices (M. L. Fisher, Management Science 27
    (1981) 1-18, from memory), and it sees the whole numbers that the relaxation does not.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from scipy import sparse

from apps.planning.core.arrays import build_model
from apps.planning.core.blocks import THREADS
from apps.planning.core.engine import Ladder, Program, price_rows, solve_whole
from apps.planning.core.lean import make_lean
from apps.planning.core.model import WISH_UNITS, Floats, Model
from apps.planning.core.problem import Problem
from apps.planning.core.relax import whole_part

FLOAT_ROOM = 1e-6
"""Relative room for float noise, always on the safe side."""
BASES_UP_TO = 60
"""Homes up to which the relaxation is solved from basis to basis."""


def bound_wishes(
    problem: Problem,
    values: Floats,
    *,
    seed: int = 0,
    groups: list[list[int]] | None = None,
    nodes: int = 50,
) -> Floats:
    """Bounds in the wishes' own units for a plan of a canonical problem with these `values`.

    `groups`: homes solved whole together against prices, for a tighter bound that takes
    longer."""
    model = build_model(problem, room_g=0)
    if groups is None and len(problem.digesters) > BASES_UP_TO:
        return _bounds_by_prices(model, values, seed)
    bounds = np.zeros(len(values))
    program, expand = whole_part(model).program, sparse.identity(len(model.lower), format="csc")
    if groups is None:
        program, expand = _lean_part(model)
    ladder = Ladder(program, seed=seed)
    held: list[tuple[Floats, float]] = []
    for k, value in enumerate(values):
        cost = model.costs[k]
        if not np.any(cost):
            continue
        if value > 0:
            answer = ladder.minimise(cost @ expand)
            if answer.proved:
                best = answer.value
                if groups is not None and answer.row_duals is not None:
                    best = max(
                        best,
                        price_bound(model, cost, held, answer.row_duals, groups, nodes, seed),
                    )
                bounds[k] = _in_units(model, k, best)
        ladder.hold(cost @ expand, _most(model, k, value))
        held.append((cost, _most(model, k, value)))
    return np.minimum(bounds, values)


def _lean_part(model: Model) -> tuple[Program, sparse.csc_matrix]:
    """The relaxation in fewer columns, for any wish, and how they make up the model's."""
    visits = np.zeros(len(model.lower), dtype=bool)
    visits[model.visits.column] = True
    # A column that costs in any wish may follow others in each.
    program = replace(whole_part(model).program, cost=model.costs.min(axis=0))
    lean = make_lean(program, visits)
    return lean.program, lean.expand


def _most(model: Model, k: int, value: float) -> float:
    """What cost k of the columns may be at most for the wish to stay at `value`."""
    room = value / WISH_UNITS[k]
    return float(room + FLOAT_ROOM * (1.0 + room) - model.offsets[k])


def _in_units(model: Model, k: int, best: float) -> float:
    """The wish's bound from the least of its cost, with room for float noise."""
    best += float(model.offsets[k])
    best -= FLOAT_ROOM * (1.0 + abs(best))
    return max(0.0, float(best * WISH_UNITS[k]))


def _bounds_by_prices(model: Model, values: Floats, seed: int) -> Floats:
    """All wishes' bounds from prices; each is a program of its own, two at a time."""
    program, expand = _lean_part(model)
    costs = sparse.csr_matrix(model.costs @ expand)

    def bound(k: int) -> float:
        before = [j for j in range(k) if costs[j].nnz]
        most = np.array([_most(model, j, values[j]) for j in before])
        whole = replace(
            program,
            cost=costs[k].toarray().reshape(-1),
            matrix=sparse.vstack([program.matrix, costs[before]], format="csc"),
            row_lower=np.concatenate([program.row_lower, np.full(len(before), -np.inf)]),
            row_upper=np.concatenate([program.row_upper, most]),
        )
        prices = price_rows(whole, seed=seed)
        return 0.0 if prices is None else _in_units(model, k, safe_bound(whole, prices))

    asked = [k for k in range(len(values)) if values[k] > 0 and costs[k].nnz]
    bounds = np.zeros(len(values))
    with ThreadPoolExecutor(THREADS) as pool:
        bounds[asked] = list(pool.map(bound, asked))
    return np.minimum(bounds, values)


def safe_bound(program: Program, prices: Floats) -> float:
    """A lower bound of the relaxation's value, valid for any `prices` of its rows."""
    prices = np.where(np.isinf(program.row_lower), np.minimum(prices, 0.0), prices)
    prices = np.where(np.isinf(program.row_upper), np.maximum(prices, 0.0), prices)
    reduced = program.cost - program.matrix.T @ prices
    sides = np.where(prices > 0, program.row_lower, program.row_upper)
    ends = np.where(reduced > 0, program.lower, program.upper)
    used, moved = prices != 0, reduced != 0
    return float(prices[used] @ sides[used] + reduced[moved] @ ends[moved])


def price_bound(
    model: Model,
    cost: Floats,
    held: list[tuple[Floats, float]],
    duals: Floats,
    groups: list[list[int]],
    nodes: int,
    seed: int,
) -> float:
    """A lower bound of cost @ x over the model and the `held` rows, from prices `duals`
    (one a row, held rows last) on all rows that more than one group touches."""
    matrix = model.matrix
    if held:
        matrix = sparse.vstack(
            [matrix, sparse.csr_matrix(np.array([row for row, _ in held]))], format="csc"
        )
    row_lower = np.concatenate([model.row_lower, np.full(len(held), -np.inf)])
    row_upper = np.concatenate([model.row_upper, np.array([most for _, most in held])])
    group_of = np.full(len(model.problem.digesters), -1, dtype=np.int64)
    for number, group in enumerate(groups):
        group_of[group] = number
    owner = np.where(model.home >= 0, group_of[model.home], len(groups))
    entries = matrix.tocoo()
    first = np.full(matrix.shape[0], np.iinfo(np.int64).max)
    last = np.full(matrix.shape[0], -1)
    np.minimum.at(first, entries.row, owner[entries.col])
    np.maximum.at(last, entries.row, owner[entries.col])
    shared = (first != last) | (first == len(groups))
    price = np.where(shared, duals, 0.0)
    price = np.where(np.isinf(row_lower), np.minimum(price, 0.0), price)
    price = np.where(np.isinf(row_upper), np.maximum(price, 0.0), price)
    endless = np.isinf(model.upper) & (owner == len(groups))
    reduced = cost - matrix.T @ price
    if np.any(reduced[endless] < 0):
        return -np.inf
    with np.errstate(invalid="ignore"):
        at_side = np.where(price > 0, row_lower, row_upper)
        total = float(np.sum(np.where(price != 0, price * at_side, 0.0)))
    alone = owner == len(groups)
    total += float(
        np.sum(
            np.where(
                reduced[alone] >= 0,
                reduced[alone] * model.lower[alone],
                reduced[alone] * np.where(endless[alone], 0.0, model.upper[alone]),
            )
        )
    )
    by_row = matrix.tocsr()
    for number in range(len(groups)):
        columns = np.flatnonzero(owner == number)
        rows = np.flatnonzero(~shared & (first == number))
        part = by_row[rows][:, columns].tocsc()
        answer = solve_whole(
            Program(
                cost=reduced[columns],
                matrix=part,
                row_lower=row_lower[rows],
                row_upper=row_upper[rows],
                lower=model.lower[columns],
                upper=model.upper[columns],
                integral=model.integral[columns],
            ),
            seed=seed,
            gap=1e-4,
            nodes=nodes,
        )
        total += answer.bound
    return total
