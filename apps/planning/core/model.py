"""What a model is: a planning problem as one linear mixed-integer program in arrays.

Columns (kilograms or yes/no): flow of a batch to a digester, collected on one day and fed on
one day; stock fed on a day; visit (source, digester, day); whole batch; slacks of the wishes.
Because flows carry both days, shelf life, bin, shares and caps are exact rows: whatever
satisfies the rows is a plan, up to the last gram, which `whole_grams` settles.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from apps.planning.core.problem import PPM, Problem
from apps.planning.core.result import WISHES

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

KG = 1_000
ROUNDING_ROOM_G = 4
"""Grams kept free in rows over divisible flows, so that whole grams fit (given back after)."""

GLUT = 2.0
"""Offered VS over all targets beyond which there is a glut."""

BELOW, OVERDUE, CHANGES, SHORTFALL, LEFT, CARRYING, UNSTEADY, UNFAIR = range(len(WISHES))
WISH_UNITS = np.array([1e3, 1.0, 1.0, 1e6, 1e3, 1e6, 1.0, 1e6])
"""How many of a wish's units one unit of the model is (kg, pickups, kg, kg, kg·km, ...)."""


@dataclass(frozen=True)
class Flows:
    """Per flow column: indices into the canonical problem's tuples, days, and its visit column."""

    batch: Ints
    digester: Ints
    pair: Ints
    collect_day: Ints
    feed_day: Ints
    visit: Ints
    usable_kg: Floats
    vs_kg: Floats


@dataclass(frozen=True)
class Visits:
    """Per visit: its column, source, digester, day, and the most it can carry (kg)."""

    column: Ints
    source: Ints
    digester: Ints
    day: Ints
    cap_kg: Floats


@dataclass(frozen=True)
class Model:
    """min costs[k] @ x + offsets[k] lexicographically, row_lower <= matrix @ x <= row_upper."""

    problem: Problem
    matrix: sparse.csc_matrix
    row_lower: Floats
    row_upper: Floats
    lower: Floats
    upper: Floats
    integral: Bools
    costs: Floats
    offsets: Floats
    home: Ints
    """Per column the digester it belongs to, -1 for columns that belong to none."""
    flows: Flows
    """Flow columns come first: column i is flow i."""
    visits: Visits
    stock_columns: tuple[tuple[int, int, int, int], ...]
    """(digester, lot index, day, column)."""
    whole: dict[tuple[int, int, int], int]
    """(batch, digester, collect day) of an indivisible batch -> its yes/no column."""
    home_columns: tuple[Ints, ...]
    """Per digester its columns, and the shared ones (waiting sources, changes) it touches."""
    overdue: dict[int, int]
    """By source that waits too long, the column that counts it."""

    @cached_property
    def sources_near(self) -> tuple[frozenset[int], ...]:
        """Per digester the sources from which something may come."""
        out: list[set[int]] = [set() for _ in self.problem.digesters]
        ends = np.unique(np.stack([self.visits.digester, self.visits.source], axis=1), axis=0)
        for home, source in ends.tolist():
            out[home].add(source)
        return tuple(frozenset(each) for each in out)

    @cached_property
    def visit_at(self) -> dict[tuple[int, int, int], int]:
        """(source, digester, day) -> which visit it is."""
        v = self.visits
        keys = zip(v.source.tolist(), v.digester.tolist(), v.day.tolist(), strict=True)
        return {key: i for i, key in enumerate(keys)}

    @cached_property
    def is_whole(self) -> Bools:
        """Columns that decide over an indivisible batch."""
        out = np.zeros(len(self.lower), dtype=bool)
        out[list(self.whole.values())] = True
        return out

    @cached_property
    def least_kg(self) -> Floats:
        """Smallest pickup of each digester."""
        return np.array([d.min_pickup_g / KG for d in self.problem.digesters], dtype=float)

    @cached_property
    def is_glut(self) -> bool:
        """Whether much more VS is offered than all targets ask for."""
        problem = self.problem
        vs_ppm = {m.code: m.vs_ppm for m in problem.materials}
        offered_g = sum(b.amount_g * vs_ppm[b.material] for b in problem.batches) / PPM
        return offered_g > GLUT * sum(sum(d.target_vs_g) for d in problem.digesters)
