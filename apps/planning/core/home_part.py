"""One home's own part of a model, and its best plan when all that homes share has a price."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from apps.planning.core.engine import Program, solve_whole
from apps.planning.core.knapsack import Knapsack
from apps.planning.core.model import Floats, Ints, Model

Bools = NDArray[np.bool_]

NODES = 200
"""Branching nodes for a home that is more than one bin to fill."""


@dataclass(frozen=True)
class _Bin:
    """A home where all that counts is what fits under one limit: way i (a batch coming here
    whole) is made by column `choice[i]` at 1 and column `flow[i]` at `kg[i]`."""

    choice: Ints
    flow: Ints
    kg: Floats
    knapsack: Knapsack


@dataclass
class HomePart:
    """`columns`: the home's own in the model; `shared`: what they add to the shared rows;
    `program`: its own rows. Bounds of the program may be tightened and loosened."""

    columns: Ints
    shared: sparse.csc_matrix
    program: Program
    bin: _Bin | None

    def __post_init__(self) -> None:
        self._lower, self._upper = self.program.lower.copy(), self.program.upper.copy()

    def open_all(self) -> None:
        """Bounds as they were."""
        self.program.lower[:], self.program.upper[:] = self._lower, self._upper

    def best_plan(self, prices: Floats, seed: int) -> tuple[Floats, float] | None:
        """Values of the columns at least cost less what they are paid by `prices` (one a
        shared row), and a lower bound of that; None when nothing is possible."""
        reduced = self.program.cost - self.shared.T @ prices
        if self.bin is not None:
            return self._fill(self.bin, reduced)
        program = Program(
            reduced,
            self.program.matrix,
            self.program.row_lower,
            self.program.row_upper,
            self.program.lower,
            self.program.upper,
            self.program.integral,
        )
        answer = solve_whole(program, seed=seed, nodes=NODES, gap=1e-6)
        if answer.x is None:
            return None
        answer.x[program.integral] = np.rint(answer.x[program.integral])
        return answer.x, answer.bound

    def _fill(self, it: _Bin, reduced: Floats) -> tuple[Floats, float] | None:
        profits = -(reduced[it.choice] + reduced[it.flow] * it.kg)
        closed = self.program.upper[it.choice] < 0.5
        chosen = it.knapsack.fill(
            np.where(closed, 0.0, profits), self.program.lower[it.choice] > 0.5
        )
        if chosen is None:
            return None
        x = np.zeros(len(reduced))
        x[it.choice[chosen]] = 1.0
        x[it.flow[chosen]] = it.kg[chosen]
        return x, -float(profits[chosen].sum())


def split_homes(model: Model, cost: Floats) -> tuple[list[HomePart], Ints]:
    """Every home's part for a cost per column, and the rows that homes share."""
    entries = model.matrix.tocoo()
    owner = np.where(model.home >= 0, model.home, len(model.problem.digesters))
    first = np.full(model.matrix.shape[0], np.iinfo(np.int64).max)
    last = np.full(model.matrix.shape[0], -1)
    np.minimum.at(first, entries.row, owner[entries.col])
    np.maximum.at(last, entries.row, owner[entries.col])
    used = last >= 0
    shared = used & ((first != last) | (first == len(model.problem.digesters)))
    by_row = model.matrix.tocsr()
    shared_rows = np.flatnonzero(shared)
    shared_rows = shared_rows[~_repeats(model, by_row[shared_rows], shared_rows)]
    parts = []
    for h in range(len(model.problem.digesters)):
        columns = np.flatnonzero(owner == h)
        rows = np.flatnonzero(used & ~shared & (first == h))
        program = Program(
            cost=cost[columns],
            matrix=by_row[rows][:, columns].tocsc(),
            row_lower=model.row_lower[rows],
            row_upper=model.row_upper[rows],
            lower=model.lower[columns].copy(),
            upper=model.upper[columns].copy(),
            integral=model.integral[columns],
        )
        ways = _ways_of(model, h, columns)
        parts.append(
            HomePart(
                columns=columns,
                shared=by_row[shared_rows][:, columns].tocsc(),
                program=program,
                bin=None if ways is None else _as_bin(program, *ways),
            )
        )
    return parts, shared_rows


def _repeats(model: Model, rows: sparse.csr_matrix, numbers: Ints) -> NDArray[np.bool_]:
    """Rows that, once whole batches come whole, ask for what an earlier one asks for (a batch's
    kilograms, its being placed once, its source's only home)."""
    flow = {
        (int(b), int(h), int(day)): z
        for z, (b, h, day) in enumerate(
            zip(model.flows.batch, model.flows.digester, model.flows.collect_day, strict=True)
        )
    }
    into = sparse.lil_matrix((rows.shape[1], rows.shape[1]))
    into.setdiag(1.0)
    for (b, h, day), column in model.whole.items():
        z = flow[b, h, day]
        into[z, z] = 0.0
        into[z, column] = model.problem.batches[b].amount_g / 1000
    inside = (rows @ into.tocsr()).tocsr()
    inside.eliminate_zeros()
    inside.sort_indices()
    seen: dict[tuple[bytes, bytes], float] = {}
    out = np.zeros(len(numbers), dtype=bool)
    for i, number in enumerate(numbers.tolist()):
        at = slice(inside.indptr[i], inside.indptr[i + 1])
        values = inside.data[at]
        scale = float(np.abs(values).max(initial=0.0))
        if np.isfinite(model.row_lower[number]) or not scale:
            continue
        key = (inside.indices[at].tobytes(), np.round(values / scale, 9).tobytes())
        limit = float(model.row_upper[number]) / scale
        out[i] = limit >= seen.get(key, np.inf) - NOISE
        seen[key] = min(limit, seen.get(key, np.inf))
    return out


def _ways_of(model: Model, h: int, columns: Ints) -> tuple[Ints, Ints, Floats] | None:
    """The home's yes/no columns, and of each the flow that it makes and its kilograms; None
    when some of its flows are free in their amount."""
    at = {int(column): i for i, column in enumerate(columns.tolist())}
    flows: dict[int, list[int]] = {}
    for z in np.flatnonzero(model.flows.digester == h).tolist():
        key = (int(model.flows.batch[z]), h, int(model.flows.collect_day[z]))
        if key not in model.whole:
            return None
        flows.setdefault(model.whole[key], []).append(z)
    choice = [int(column) for column in columns[model.integral[columns]]]
    if set(choice) != set(flows) or any(len(mine) > 1 for mine in flows.values()):
        return None
    made = np.array([flows[column][0] for column in choice], dtype=np.int64)
    grams = np.array([batch.amount_g for batch in model.problem.batches], dtype=float)
    return (
        np.array([at[column] for column in choice], dtype=np.int64),
        np.array([at[z] for z in made.tolist()], dtype=np.int64),
        grams[model.flows.batch[made]] / 1000,
    )


def _as_bin(program: Program, choice: Ints, flow: Ints, kg: Floats) -> _Bin | None:
    """The home as one bin, where no other row can bind and no other column is of use."""
    others = np.ones(len(program.cost), dtype=bool)
    others[choice] = others[flow] = False
    if np.any(program.lower[others] > 0) or np.any(program.cost[others] < 0):
        return None
    shut = (program.upper[choice] < 1.0 - NOISE) | (program.upper[flow] < kg - NOISE)
    program.upper[choice[shut]] = 0.0
    weights = (program.matrix[:, choice] + program.matrix[:, flow].multiply(kg)).toarray()
    weights[np.abs(weights) < NOISE] = 0.0
    least, most = np.minimum(weights, 0).sum(axis=1), np.maximum(weights, 0).sum(axis=1)
    below, above = least < program.row_lower - NOISE, most > program.row_upper + NOISE
    binding = np.flatnonzero(below | above)
    if len(binding):
        # Of rows that ask for the same in proportion, the tightest.
        scale = weights[binding].sum(axis=1)
        if np.any(least[binding] < 0) or np.any(program.row_lower[binding] > NOISE):
            return None
        shape = weights[binding] / scale[:, None]
        if np.any(np.abs(shape - shape[0]) > NOISE):
            return None
        tight = int(np.argmin(program.row_upper[binding] / scale))
        row = int(binding[tight])
        knapsack = Knapsack.of(weights[row], float(program.row_upper[row]))
    else:
        knapsack = Knapsack.of(np.zeros(len(choice)), 0.0)
    return None if knapsack is None else _Bin(choice, flow, kg, knapsack)


NOISE = 1e-9
