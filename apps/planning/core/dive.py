"""A plan for some homes from their relaxation: keep the visits that carry most, drop those
too small, settle the kilograms of the rest."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from apps.planning.core.arrays import Floats, Ints, Model
from apps.planning.core.engine import Ladder, Program, solve_relaxation
from apps.planning.core.problem import PPM
from apps.planning.core.relax import fix_columns

Bools = NDArray[np.bool_]
ROUNDS = 8
SHARE_A_ROUND = 0.35
"""Part of the visits worth fixing that one round fixes."""
CARRIES = 1e-7
"""Kilograms above which a visit counts as carrying something."""


class Dive:
    """One dive: `program` over the model's `columns` (sorted), others staying at `x`."""

    def __init__(self, model: Model, columns: Ints, program: Program, x: Floats) -> None:
        self.program = program
        self.model = model
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
        """Values for the columns, or None when the pins leave none.

        Each round fixes the visits that carry most and closes those that no longer fit beside
        them; what is not used yet stays open, so that the relaxation can turn to it."""
        # From nothing the primal simplex takes less than half the time where there is a glut.
        ladder = Ladder(self.program, seed=seed, primal=_is_glut(self.model))
        lower, upper = self.program.lower[self.visits], self.program.upper[self.visits]
        lower, upper = lower.copy(), upper.copy()
        self._whole_value = self.program.lower.copy()
        kept = self.forced.copy()
        answer = ladder.solve()
        if answer.x is None:
            return None
        self._fix_whole(ladder, answer.x)
        for number in range(ROUNDS):
            carried = self._carried(answer.x)
            fresh = (carried > CARRIES) & ~kept & (upper > 0.5) & ~self.is_whole
            if not fresh.any():
                break
            big = fresh & (carried >= self.least - 1e-7)
            last = number >= ROUNDS - 2
            share = 1.0 if last else SHARE_A_ROUND
            order = np.argsort(-np.where(big, carried, -1.0), kind="stable")
            take = order[: max(1, int(np.ceil(share * big.sum())))]
            take = take[big[take]]
            added = self._fitting(take, kept)
            kept[added] = True
            closed = ~kept & ~self.is_whole & ~self._may_go(kept)
            if last or not len(added):
                closed |= fresh & ~kept & (carried < self.least - 1e-7)
            if last:
                closed |= ~kept & ~self.is_whole
            changed = np.flatnonzero((kept & (lower < 0.5)) | (closed & (upper > 0.5)))
            if not len(changed):
                break
            lower[kept] = 1.0
            upper[closed] = 0.0
            ladder.set_bounds(self.visits[changed], lower[changed], upper[changed])
            answer = ladder.solve()
            if answer.x is None:
                # The last visits cannot all be made: do without them.
                kept[added] = False
                break
        return self._settle(kept, seed)

    def _fix_whole(self, ladder: Ladder, x: Floats) -> None:
        """Whole batches that the relaxation does not split stay where it puts them."""
        if not len(self.whole):
            return
        keep = self.whole[x[self.whole] > 1 - 1e-6]
        self._whole_value[keep] = 1.0
        value = self._whole_value[self.whole]
        ladder.set_bounds(self.whole, value, value)

    def _day_keys(self) -> tuple[Ints, Ints]:
        visits, days = self.model.visits, self.model.problem.days
        day = visits.day[self.visit_ids]
        return (
            visits.digester[self.visit_ids] * days + day,
            visits.source[self.visit_ids] * days + day,
        )

    def _full(self, kept: Bools) -> tuple[Ints, Ints, Ints, Ints]:
        """Visits going by digester-day and source-day, and the limits, per visit's keys."""
        problem, days = self.model.problem, self.model.problem.days
        by_home, by_source = self._day_keys()
        homes = np.bincount(by_home[kept], minlength=len(problem.digesters) * days)
        sources = np.bincount(by_source[kept], minlength=len(problem.sources) * days)
        for (s, day), count in self.at_source.items():
            sources[s * days + day] += count
        most_home = np.repeat([d.max_visits_per_day for d in problem.digesters], days)
        most_source = np.repeat([s.max_homes_per_day for s in problem.sources], days)
        return homes, sources, most_home, most_source

    def _may_go(self, kept: Bools) -> Bools:
        """Visits for which there is still room beside those kept."""
        by_home, by_source = self._day_keys()
        homes, sources, most_home, most_source = self._full(kept)
        return np.asarray((homes < most_home)[by_home] & (sources < most_source)[by_source])

    def _fitting(self, wanted: Ints, kept: Bools) -> Ints:
        """Those of `wanted`, in order, that fit beside the kept and each other."""
        by_home, by_source = self._day_keys()
        homes, sources, most_home, most_source = self._full(kept)
        out = []
        for i in wanted.tolist():
            h, s = by_home[i], by_source[i]
            if homes[h] < most_home[h] and sources[s] < most_source[s]:
                homes[h] += 1
                sources[s] += 1
                out.append(i)
        return np.array(out, dtype=np.int64)

    def _carried(self, x: Floats) -> Floats:
        return np.bincount(
            self.flow_visit, weights=x[self.flows], minlength=len(self.visits)
        ).astype(float)

    def _settle(self, kept: Bools, seed: int) -> Floats | None:
        """The best kilograms for exactly the visits kept.

        When they cannot all carry the smallest pickup (shares want company that is gone), the
        relaxation tells which fall short, and those go."""
        fixed = self._whole_value
        for _ in range(ROUNDS):
            fixed[self.visits] = np.where(self.is_whole, fixed[self.visits], kept.astype(float))
            program = fix_columns(self.program, self.program.integral, fixed)
            settled = solve_relaxation(program, seed=seed)
            if settled.x is not None:
                settled.x[self.program.integral] = fixed[self.program.integral]
                return settled.x
            loose = self.visits[kept & ~self.forced & ~self.is_whole]
            program.lower[loose] = 0.0
            eased = solve_relaxation(program, seed=seed)
            if eased.x is None:
                return None
            small = (self._carried(eased.x) < self.least - 1e-7) & ~self.forced & ~self.is_whole
            if not (kept & small).any():
                return None
            kept = kept & ~small
        return None


GLUT = 2.0
"""Offered VS over all targets beyond which there is a glut."""


def _is_glut(model: Model) -> bool:
    problem = model.problem
    vs_ppm = {m.code: m.vs_ppm for m in problem.materials}
    offered_g = sum(b.amount_g * vs_ppm[b.material] for b in problem.batches) / PPM
    return offered_g > GLUT * sum(sum(d.target_vs_g) for d in problem.digesters)
