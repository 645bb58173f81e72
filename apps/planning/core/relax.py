"""Parts of a model as programs: some columns free, the others where they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from apps.planning.core.engine import Program
from apps.planning.core.model import Floats, Ints, Model
from apps.planning.core.result import WISHES

SLACK = 1e-9
"""Room given to rows for the float noise of what is held fixed."""


@dataclass(frozen=True)
class Part:
    """The program of the free `columns`; `costs[k]` their part of wish k."""

    program: Program
    columns: Ints
    costs: Floats


def take_part(
    model: Model, columns: Ints, x: Floats, activity: Floats, *, keep_start: bool = True
) -> Part:
    """The program in which only `columns` move and all others stay at `x`
    (`activity` = matrix @ x). `keep_start`: `x` keeps all rows and must stay possible."""
    block = model.matrix[:, columns]
    rows = np.unique(block.indices)
    local = sparse.csc_matrix(
        (block.data, np.searchsorted(rows, block.indices), block.indptr),
        shape=(len(rows), len(columns)),
    )
    here = x[columns]
    others = activity[rows] - local @ here
    inside = local @ here
    # What is there now stays possible, whatever the last digit says.
    row_lower = model.row_lower[rows] - others
    row_upper = model.row_upper[rows] - others
    if keep_start:
        row_lower = np.minimum(row_lower, inside + SLACK)
        row_upper = np.maximum(row_upper, inside - SLACK)
    costs = model.costs[:, columns]
    program = Program(
        cost=np.zeros(len(columns)),
        matrix=local,
        row_lower=row_lower,
        row_upper=row_upper,
        lower=model.lower[columns],
        upper=model.upper[columns],
        integral=model.integral[columns],
    )
    return Part(program, columns, costs)


def whole_part(model: Model) -> Part:
    """The whole model as a part."""
    program = Program(
        cost=np.zeros(len(model.lower)),
        matrix=model.matrix,
        row_lower=model.row_lower,
        row_upper=model.row_upper,
        lower=model.lower,
        upper=model.upper,
        integral=model.integral,
    )
    return Part(program, np.arange(len(model.lower)), model.costs)


def aim(part: Part, weights: Floats, held: dict[int, float] | None = None) -> Program:
    """The part's program with cost `weights` over the wishes and, for each wish in `held`,
    a row that keeps its own share of the wish at or under the value."""
    program = part.program
    cost = weights @ part.costs
    held = {k: v for k, v in (held or {}).items() if np.any(part.costs[k])}
    if not held:
        return Program(
            cost,
            program.matrix,
            program.row_lower,
            program.row_upper,
            program.lower,
            program.upper,
            program.integral,
        )
    extra = sparse.csc_matrix(part.costs[list(held)])
    return Program(
        cost=cost,
        matrix=sparse.vstack([program.matrix, extra], format="csc"),
        row_lower=np.concatenate([program.row_lower, np.full(len(held), -np.inf)]),
        row_upper=np.concatenate([program.row_upper, np.array(list(held.values()))]),
        lower=program.lower,
        upper=program.upper,
        integral=program.integral,
    )


def fix_columns(program: Program, chosen: NDArray[np.bool_], value: Floats) -> Program:
    """The program with the `chosen` columns fixed at `value`."""
    lower, upper = program.lower.copy(), program.upper.copy()
    lower[chosen] = upper[chosen] = value[chosen]
    return Program(
        program.cost,
        program.matrix,
        program.row_lower,
        program.row_upper,
        lower,
        upper,
        program.integral & ~chosen,
    )


def relaxed(program: Program) -> Program:
    """The program without whole-number conditions."""
    return Program(
        program.cost,
        program.matrix,
        program.row_lower,
        program.row_upper,
        program.lower,
        program.upper,
        np.zeros(len(program.lower), dtype=bool),
    )


FIRST_WISHES = np.array([1e3, 3e2, 1e2, 1.0, 1e-3, 1e-5, 0.0, 0.0])
"""Search weights of the wishes that decide who eats; plans are compared in strict order."""
assert len(FIRST_WISHES) == len(WISHES)
