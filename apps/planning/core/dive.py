"""A plan for some homes from their relaxation: keep the visits that carry most, drop those
too small, settle the kilograms of the rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from apps.planning.core.engine import Answer, Ladder, Program, solve_relaxation
from apps.planning.core.lean import make_lean
from apps.planning.core.model import Floats, Ints, Model
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
        self.primal = model.is_glut
        flow_count = len(model.flows.batch)
        first, last = np.searchsorted(columns, [0, flow_count])
        self.flows = np.arange(first, last)
        visits = np.flatnonzero(
            (columns >= flow_count) & (columns < flow_count + len(model.visits.column))
        )
        self.visits = visits
        ids = columns[visits] - flow_count
        self.flow_visit = np.searchsorted(ids, model.flows.visit[columns[first:last]])
        whole = model.is_whole[columns]
        self.whole = np.flatnonzero(whole)
        self.forced = program.lower[visits] > 0.5
        self.is_whole = whole[visits]
        self.least = model.least_kg[model.visits.digester[ids]]
        self.ends = (_home_days(model, ids), _source_days(model, ids, x))

    def run(self, seed: int = 0) -> Floats | None:
        """Values for the columns, or None when the pins leave none.

        Each round fixes the visits that carry most and closes those that no longer fit beside
        them; what is not used yet stays open, so that the relaxation can turn to it."""
        lower, upper = self.program.lower[self.visits], self.program.upper[self.visits]
        lower, upper = lower.copy(), upper.copy()
        self._whole_value = self.program.lower.copy()
        kept = self.forced.copy()
        ladder, answer = self._open(seed)
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

    def _open(self, seed: int) -> tuple[Ladder, Answer]:
        """The relaxation and its optimum, found in fewer columns."""
        visits = np.zeros(len(self.program.lower), dtype=bool)
        visits[self.visits] = True
        lean = make_lean(self.program, visits)
        # From nothing the primal simplex takes less than half the time where there is a glut.
        first = Ladder(lean.program, seed=seed, primal=self.primal)
        if first.solve().x is None:
            return first, first.solve()
        ladder = Ladder(self.program, seed=seed)
        ladder.start_from(lean.lift(first.basis()))
        return ladder, ladder.solve()

    def _fix_whole(self, ladder: Ladder, x: Floats) -> None:
        """Whole batches that the relaxation does not split stay where it puts them."""
        if not len(self.whole):
            return
        keep = self.whole[x[self.whole] > 1 - 1e-6]
        self._whole_value[keep] = 1.0
        value = self._whole_value[self.whole]
        ladder.set_bounds(self.whole, value, value)

    def _may_go(self, kept: Bools) -> Bools:
        """Visits for which there is still room beside those kept."""
        out = np.ones(len(kept), dtype=bool)
        for end in self.ends:
            out &= (end.going(kept) < end.most)[end.of_visit]
        return out

    def _fitting(self, wanted: Ints, kept: Bools) -> Ints:
        """Those of `wanted`, in order, that fit beside the kept and each other."""
        going = [end.going(kept) for end in self.ends]
        out = []
        for i in wanted.tolist():
            at = [end.of_visit[i] for end in self.ends]
            if all(
                count[day] < end.most[day]
                for count, day, end in zip(going, at, self.ends, strict=True)
            ):
                for count, day in zip(going, at, strict=True):
                    count[day] += 1
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


@dataclass(frozen=True)
class _Ends:
    """Days of one kind of end: each visit's, how many go already, and how many may."""

    of_visit: Ints
    others: Ints
    most: Ints

    def going(self, kept: Bools) -> Ints:
        count = np.bincount(self.of_visit[kept], minlength=len(self.most))
        return np.asarray(count + self.others)


def _home_days(model: Model, ids: Ints) -> _Ends:
    days = model.problem.days
    keys, of_visit = np.unique(
        model.visits.digester[ids] * days + model.visits.day[ids], return_inverse=True
    )
    most = [model.problem.digesters[h].max_visits_per_day for h in (keys // days).tolist()]
    return _Ends(of_visit, np.zeros(len(keys), dtype=np.int64), np.array(most, dtype=np.int64))


def _source_days(model: Model, ids: Ints, x: Floats) -> _Ends:
    """Counts other visits of these sources too; visits are listed by source."""
    days, visits = model.problem.days, model.visits
    keys, of_visit = np.unique(visits.source[ids] * days + visits.day[ids], return_inverse=True)
    sources = np.unique(keys // days)
    first = np.searchsorted(visits.source, sources)
    last = np.searchsorted(visits.source, sources, side="right")
    theirs = [np.arange(a, b) for a, b in zip(first.tolist(), last.tolist(), strict=True)]
    others = np.setdiff1d(np.concatenate([*theirs, ids[:0]]), ids)
    others = others[x[visits.column[others]] > 0.5]
    at = visits.source[others] * days + visits.day[others]
    at = at[np.isin(at, keys)]
    going = np.bincount(np.searchsorted(keys, at), minlength=len(keys))
    most = [model.problem.sources[s].max_homes_per_day for s in (keys // days).tolist()]
    return _Ends(of_visit, going, np.array(most, dtype=np.int64))
