"""A plan for some homes from their relaxation: keep the visits that carry most, drop those
too small, settle the kilograms of the rest."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from apps.planning.core.arrays import Floats, Ints, Model
from apps.planning.core.engine import Answer, Program, solve_relaxation
from apps.planning.core.relax import fix_columns

Bools = NDArray[np.bool_]
ROUNDS = 8
CARRIES = 1e-7
"""Kilograms above which a visit counts as carrying something."""


class Dive:
    """One dive: `program` over the model's `columns` (sorted), others staying at `x`."""

    def __init__(self, model: Model, columns: Ints, program: Program, x: Floats) -> None:
        self.program = program
        self.model = model
        count = len(columns)
        flow_count = len(model.flows.batch)
        first, last = np.searchsorted(columns, [0, flow_count])
        self.flows = np.arange(first, last)
        visits = np.flatnonzero(
            (columns >= flow_count) & (columns < flow_count + len(model.visits.column))
        )
        self.visits = visits
        self.visit_ids = columns[visits] - flow_count
        self.flow_visit = np.searchsorted(self.visit_ids, model.flows.visit[columns[first:last]])
        whole = np.array(sorted(set(model.whole.values())), dtype=np.int64)
        self.whole = np.flatnonzero(np.isin(columns, whole))
        self.forced = program.lower[visits] > 0.5
        self.is_whole = np.isin(visits, self.whole)
        least = np.array([d.min_pickup_g / 1000 for d in model.problem.digesters])
        self.least = least[model.visits.digester[self.visit_ids]]
        self.count = count
        self._count_others(columns, x)

    def _count_others(self, columns: Ints, x: Floats) -> None:
        visits = self.model.visits
        outside = np.ones(len(visits.column), dtype=bool)
        outside[self.visit_ids] = False
        going = np.flatnonzero(outside & (x[visits.column] > 0.5))
        self.at_source: Counter[tuple[int, int]] = Counter(
            zip(visits.source[going].tolist(), visits.day[going].tolist(), strict=True)
        )

    def run(self, seed: int = 0) -> Floats | None:
        """Values for the columns, or None when the pins leave none."""
        answer = solve_relaxation(self.program, seed=seed)
        if answer.x is None:
            return None
        off = np.zeros(self.count, dtype=bool)
        off[self.visits[~self._pick(answer.x)]] = True
        value = np.zeros(self.count)
        keep = self.whole[(answer.x[self.whole] > 1 - 1e-6) & ~off[self.whole]]
        value[self.whole] = self.program.lower[self.whole]
        value[keep] = 1.0
        off[self.whole] = True
        for _ in range(ROUNDS):
            answer = solve_relaxation(fix_columns(self.program, off, value), seed=seed)
            if answer.x is None:
                return None
            small = self._small(answer.x) & ~off[self.visits]
            if not small.any():
                break
            off[self.visits[small]] = True
        return self._settle(answer, off, value, seed)

    def _carried(self, x: Floats) -> Floats:
        return np.bincount(
            self.flow_visit, weights=x[self.flows], minlength=len(self.visits)
        ).astype(float)

    def _small(self, x: Floats) -> Bools:
        """Unforced visits that carry something, but less than the smallest pickup."""
        carried = self._carried(x)
        small = (carried > CARRIES) & (carried < self.least - 1e-7)
        return np.asarray(small & ~self.forced & ~self.is_whole)

    def _pick(self, x: Floats) -> Bools:
        """Visits by decreasing kilograms, within the limits of homes and sources a day."""
        problem, visits = self.model.problem, self.model.visits
        carried = self._carried(x)
        carried[self.forced] = np.inf
        keep = np.zeros(len(self.visits), dtype=bool)
        homes: Counter[tuple[int, int]] = Counter()
        sources = self.at_source.copy()
        for i in np.argsort(-carried, kind="stable").tolist():
            if carried[i] <= CARRIES:
                break
            v = int(self.visit_ids[i])
            h, s, day = int(visits.digester[v]), int(visits.source[v]), int(visits.day[v])
            if not self.forced[i] and (
                homes[h, day] >= problem.digesters[h].max_visits_per_day
                or sources[s, day] >= problem.sources[s].max_homes_per_day
            ):
                continue
            keep[i] = True
            homes[h, day] += 1
            sources[s, day] += 1
        return keep

    def _settle(self, answer: Answer, off: Bools, value: Floats, seed: int) -> Floats | None:
        """The best kilograms for exactly the visits that carry enough."""
        assert answer.x is not None
        going = (self._carried(answer.x) >= self.least - 1e-7) | self.forced
        fixed = value.copy()
        fixed[self.visits] = np.where(self.is_whole, fixed[self.visits], going.astype(float))
        settled = solve_relaxation(
            fix_columns(self.program, self.program.integral, fixed), seed=seed
        )
        if settled.x is None:
            return None
        settled.x[self.program.integral] = fixed[self.program.integral]
        return settled.x
