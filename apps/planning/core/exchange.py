"""Exchange: a few sources at a time hand their visits to other homes, all kilograms following.

The homes' relaxation stays loaded with every visit fixed where the plan has it. Opening the
visits of a few sources on their days shows at once the most that can be gained there; then the
visit that the relaxation wants most is fixed, those that no longer fit beside it are closed, and
so on until all are settled. What is better stays, anything else goes back to the vertex it came
from: either way the engine starts warm, and a try costs a few short solves.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import pairwise

import numpy as np

from apps.planning.core.engine import Answer, Ladder
from apps.planning.core.improve import (
    HOLD,
    TIE,
    Proposal,
    Stage,
    State,
    columns_of,
    is_better,
)
from apps.planning.core.model import LEFT, Bools, Floats, Ints
from apps.planning.core.relax import aim, fix_columns, take_part

OPENED = 3
"""Days of sources opened at a time."""
IDLE = 100
"""Tries in vain after which a search ends."""
SOLVE_WORK = 60
"""What starting the engine is worth, in simplex iterations."""
AT_ONCE = 0.6
"""Visits that the relaxation makes at least so much are fixed together."""
SPREAD = 0.3
"""How little a draw may make of how near two days of sources are."""


class Exchange:
    """One search over `homes` for the wish of `stage`, from a state that stays as it is."""

    def __init__(self, state: State, homes: list[int], stage: Stage, *, seed: int = 0) -> None:
        model, problem = state.model, state.model.problem
        self._model, self._stage = model, stage
        self.columns = columns_of(model, homes)
        self._part = take_part(model, self.columns, state.x, state.activity)
        self._before = self._part.costs @ state.x[self.columns]
        self._lower, self._upper = self._part.program.lower, self._part.program.upper
        flow_count, visit_count = len(model.flows.batch), len(model.visits.column)
        last = flow_count + visit_count
        choices = np.flatnonzero(self._part.program.integral)
        self._choices, chosen = choices, self.columns[choices]
        self._counts = chosen < last
        """Choices that are visits; the others are whole batches on one of them."""
        visit = np.where(self._counts, chosen - flow_count, -1)
        visit[~self._counts] = _visits_of_parts(state, chosen[~self._counts])
        flows = np.flatnonzero(self.columns < flow_count)
        at = np.full(visit_count, -1, dtype=np.int64)
        at[visit[self._counts]] = np.flatnonzero(self._counts)
        self._flows, self._choice_of_flow = flows, at[model.flows.visit[self.columns[flows]]]
        order = np.argsort(self._choice_of_flow, kind="stable")
        starts = np.searchsorted(self._choice_of_flow[order], np.arange(len(choices) + 1))
        self._flows_of = [flows[order[a:b]] for a, b in pairwise(starts.tolist())]
        days, v = problem.days, model.visits
        self._days = days
        self._source_day = v.source[visit] * days + v.day[visit]
        self._home_day = v.digester[visit] * days + v.day[visit]
        most = [each.max_homes_per_day for each in problem.sources]
        self._most_homes = np.repeat(np.array(most, dtype=np.int64), days)
        most = [each.max_visits_per_day for each in problem.digesters]
        self._most_visits = np.repeat(np.array(most, dtype=np.int64), days)
        elsewhere = state.x[v.column] > 0.5
        elsewhere[visit[self._counts]] = False
        self._homes_elsewhere = np.bincount(
            v.source[elsewhere] * days + v.day[elsewhere], minlength=len(self._most_homes)
        )
        free = (self._lower[choices] < 0.5) & (self._upper[choices] > 0.5)
        self._members = {
            day: np.flatnonzero(free & (self._source_day == day))
            for day in np.unique(self._source_day[free]).tolist()
        }
        self._homes_of = {
            day: set(v.digester[visit[members]].tolist()) for day, members in self._members.items()
        }
        self._is_on = state.x[chosen] > 0.5
        program = aim(
            self._part,
            stage.weights,
            {k: float(self._before[k]) + HOLD for k in range(stage.hold)},
        )
        self._cost = program.cost
        self._ladder = Ladder(
            fix_columns(program, program.integral, np.rint(state.x[self.columns])),
            seed=seed,
            quick=True,
        )
        self.work = 0
        self._set(np.arange(len(choices)), self._is_on.astype(float), self._is_on.astype(float))
        self._best = self._solve(opened=True)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left of the wish, or nothing could be moved."""
        x, wish = self._best.x, self._stage.hold
        if x is None or not self._members:
            return True
        return wish < LEFT and not np.any(self._part.costs[wish] * x > TIE[wish] / 10)

    def search(
        self,
        *,
        tries: int,
        work: int,
        around: set[int] | None = None,
        seed: str = "",
        is_over: Callable[[], bool] = lambda: False,
    ) -> Proposal:
        """Tries until there were `tries`, or `IDLE` in a row in vain, or `work` is spent.

        `around`: homes that each first opened day of a source must reach."""
        draw = random.Random(seed)
        reach = [day for day in self._members if around is None or self._homes_of[day] & around]
        first, waited = self._promising(reach), 0
        for _ in range(tries):
            if self.is_done or not first or waited >= IDLE or self.work >= work or is_over():
                break
            waited += 1
            if self._try(self._draw_days(draw, first)):
                first, waited = self._promising(reach), 0
        return self._propose()

    def _promising(self, days: list[int]) -> list[int]:
        """Days of sources at homes that lack something of the wish, or of sources that do;
        all of them for wishes that all have a part in."""
        wish, x = self._stage.hold, self._best.x
        if x is None or wish >= LEFT:
            return days
        lacking = set(self.columns[self._part.costs[wish] * x > TIE[wish]].tolist())
        homes = set(self._model.home[list(lacking)].tolist())
        sources = {each for each, column in self._model.overdue.items() if column in lacking}
        if homes == {-1} and not sources:
            return days
        return [day for day in days if self._homes_of[day] & homes or day // self._days in sources]

    def _draw_days(self, draw: random.Random, first: list[int]) -> Ints:
        """Choices of a day of a source drawn by chance and of some that share its homes."""
        day = draw.choice(first)
        near = {
            other: len(self._homes_of[other] & self._homes_of[day])
            / (1 + abs(other % self._days - day % self._days))
            * draw.uniform(SPREAD, 1)
            for other in self._members
            if other != day
        }
        others = sorted(near, key=lambda other: (-near[other], other))[: OPENED - 1]
        return np.concatenate([self._members[each] for each in [day, *others]])

    def _try(self, opened: Ints) -> bool:
        """Settles the opened choices anew; True if that is better, else all is as before."""
        back = self._ladder.mark()
        self._set(opened, np.zeros(len(opened)), np.ones(len(opened)))
        answer = self._solve(opened=True)
        made: Ints | None = None
        if self._gain(answer) > self._stage.close:
            made, answer = self._settle(opened, answer)
        if made is not None and self._gain(answer) > self._stage.close / 4:
            self._is_on[opened] = False
            self._is_on[made] = True
            self._best = answer
            return True
        was = self._is_on[opened].astype(float)
        self._set(opened, was, was)
        self._ladder.return_to(back)
        return False

    def _settle(self, opened: Ints, answer: Answer) -> tuple[Ints | None, Answer]:
        """Fixes the opened choices one after another; those made, None when it is no gain."""
        is_on = self._is_on & self._counts
        is_on[opened] = False
        homes = self._homes_elsewhere + np.bincount(
            self._source_day[is_on], minlength=len(self._most_homes)
        )
        visits = np.bincount(self._home_day[is_on], minlength=len(self._most_visits))
        left, made = opened, np.zeros(len(self._choices), dtype=bool)
        while len(left):
            if self._gain(answer) <= self._stage.close / 2 or answer.x is None:
                return None, answer
            wanted = answer.x[self._choices[left]]
            carried = np.bincount(
                self._choice_of_flow, answer.x[self._flows], minlength=len(self._choices)
            )[left]
            order = np.lexsort((left, -np.round(carried, 6), -np.round(wanted, 6)))
            if wanted[order[0]] < 1e-6:
                break
            surest = left[order[: max(1, int((wanted > AT_ONCE).sum()))]]
            for each in surest.reshape(-1, 1):
                if self._fit(each, homes, visits)[0]:
                    made[each] = True
                    homes[self._source_day[each]] += self._counts[each]
                    visits[self._home_day[each]] += self._counts[each]
            rest = left[~np.isin(left, surest)]
            fit = self._fit(rest, homes, visits)
            settled = np.concatenate([surest, rest[~fit]])
            left = rest[fit]
            self._set(settled, made[settled].astype(float), made[settled].astype(float))
            answer = self._solve()
        if len(left):
            self._set(left, np.zeros(len(left)), np.zeros(len(left)))
            answer = self._solve()
        return np.flatnonzero(made), answer

    def _fit(self, choices: Ints, homes: Ints, visits: Ints) -> Bools:
        """Which choices there is room for beside the visits made."""
        at_source, at_home = self._source_day[choices], self._home_day[choices]
        room = (homes[at_source] < self._most_homes[at_source]) & (
            visits[at_home] < self._most_visits[at_home]
        )
        return np.asarray(room | ~self._counts[choices])

    def _set(self, choices: Ints, lower: Floats, upper: Floats) -> None:
        """New bounds for choices; where a visit is shut its flows are, too, or the engine would
        try them one after another in vain."""
        if not len(choices):
            return
        flows = [self._flows_of[i] for i in choices.tolist()]
        shut = np.repeat(upper < 0.5, [len(each) for each in flows])
        columns = np.concatenate(flows)
        self._ladder.set_bounds(self._choices[choices], lower, upper)
        self._ladder.set_bounds(
            columns, self._lower[columns], np.where(shut, 0.0, self._upper[columns])
        )

    def _solve(self, *, opened: bool = False) -> Answer:
        answer = self._ladder.solve(primal=opened)
        self.work += answer.iterations + SOLVE_WORK
        return answer

    def _gain(self, answer: Answer) -> float:
        return -np.inf if answer.x is None else self._best.value - answer.value

    def _propose(self) -> Proposal:
        x = self._best.x
        if x is None:
            return Proposal(self.columns, None, self.work)
        x = x.copy()
        x[self._choices] = np.rint(x[self._choices])
        better = is_better(self._part.costs @ x, self._before)
        return Proposal(self.columns, x if better else None, self.work)


def _visits_of_parts(state: State, columns: Ints) -> Ints:
    """The visits to which whole batches with columns of their own belong."""
    if not len(columns):
        return columns
    model, visits = state.model, state.model.visits
    source = {s.code: i for i, s in enumerate(model.problem.sources)}
    part_of = {column: part for part, column in model.whole.items()}
    at = {
        key: i
        for i, key in enumerate(
            zip(visits.source.tolist(), visits.digester.tolist(), visits.day.tolist(), strict=True)
        )
    }
    parts = [part_of[column] for column in columns.tolist()]
    return np.array(
        [at[source[model.problem.batches[b].source], h, day] for b, h, day in parts],
        dtype=np.int64,
    )
