"""Exchange: a few sources at a time hand their visits to other homes, all kilograms following.

The homes' relaxation stays loaded with every visit fixed where the plan has it. Opening the
visits of a few sources on their days shows at once the most that can be gained there; then the
visits that the relaxation wants most are fixed, those that no longer fit beside them are closed,
and so on until all are settled. What is better stays, anything else goes back to the vertex it
came from: either way the engine starts warm, and a try costs a few short solves.
"""

from __future__ import annotations

import random
from collections.abc import Callable

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
from apps.planning.core.model import LEFT, OVERDUE, Bools, Floats, Ints
from apps.planning.core.relax import aim, fix_columns, take_part
from apps.planning.core.visit_choices import list_choices

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
        self._model, self._stage = state.model, stage
        self.columns = columns_of(state.model, homes)
        here = state.x[self.columns]
        self._part = take_part(state.model, self.columns, state.x, state.activity)
        self._choices = list_choices(state, self._part)
        self._before = self._part.costs @ here
        self._is_on = here[self._choices.columns] > 0.5
        held = {k: float(self._before[k]) + HOLD for k in range(stage.hold)}
        program = aim(self._part, stage.weights, held)
        fixed = fix_columns(program, program.integral, np.rint(here))
        self._ladder = Ladder(fixed, seed=seed, quick=True)
        self.work = 0
        every = np.arange(len(self._is_on))
        self._set(every, self._is_on.astype(float), self._is_on.astype(float))
        self._best = self._solve(opened=True)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left of the wish, or nothing could be moved."""
        x, wish = self._best.x, self._stage.hold
        if x is None or not self._choices.members:
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

        `around`: homes of which each first opened day of a source must reach one."""
        draw = random.Random(seed)
        homes_of = self._choices.homes_of
        reach = [day for day in homes_of if around is None or homes_of[day] & around]
        if self._stage.hold == OVERDUE:
            self._visit_waiting(reach, work, is_over)
        first, waited = self._promising(reach), 0
        for _ in range(tries):
            if self.is_done or not first or waited >= IDLE or self.work >= work or is_over():
                break
            waited += 1
            if self._try(self._draw_days(draw, first)):
                first, waited = self._promising(reach), 0
        return self._propose()

    def _visit_waiting(self, days: list[int], work: int, is_over: Callable[[], bool]) -> None:
        """One visit more, all others staying, to each source that waits too long, where a home
        has room for it: nobody is to be forgotten in a search that ends early."""
        for day in days:
            if day not in self._promising([day]):
                continue
            homes, visits = self._choices.count(self._is_on)
            members = self._choices.members[day]
            for i in members[self._choices.fit(members, homes, visits)].reshape(-1, 1):
                if self._is_on[i[0]] or self.work >= work or is_over():
                    continue
                back = self._ladder.mark()
                self._set(i, np.ones(1), np.ones(1))
                answer = self._solve()
                if self._gain(answer) > self._stage.close:
                    self._is_on[i], self._best = True, answer
                    break
                self._set(i, np.zeros(1), np.zeros(1))
                self._ladder.return_to(back)

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
        length = self._model.problem.days
        return [
            day for day in days if self._choices.homes_of[day] & homes or day // length in sources
        ]

    def _draw_days(self, draw: random.Random, first: list[int]) -> Ints:
        """Choices of a day of a source drawn by chance and of some that share its homes."""
        day, length = draw.choice(first), self._model.problem.days
        homes_of = self._choices.homes_of
        near = {
            other: len(homes & homes_of[day])
            / (1 + abs(other % length - day % length))
            * draw.uniform(SPREAD, 1)
            for other, homes in homes_of.items()
            if other != day
        }
        others = sorted(near, key=lambda other: (-near[other], other))[: OPENED - 1]
        return np.concatenate([self._choices.members[each] for each in [day, *others]])

    def _try(self, opened: Ints) -> bool:
        """Settles the opened choices anew; True if that is better, else all is as before."""
        back = self._ladder.mark()
        self._set(opened, np.zeros(len(opened)), np.ones(len(opened)))
        answer = self._solve(opened=True)
        if self._gain(answer) > self._stage.close:
            made, answer = self._settle(opened, answer)
            if self._gain(answer) > self._stage.close / 4:
                self._is_on[opened] = made[opened]
                self._best = answer
                return True
        was = self._is_on[opened].astype(float)
        self._set(opened, was, was)
        self._ladder.return_to(back)
        return False

    def _settle(self, opened: Ints, answer: Answer) -> tuple[Bools, Answer]:
        """Fixes the opened choices, the most wanted first; which are made, and the outcome,
        which is no gain where it was given up."""
        it, made = self._choices, np.zeros(len(self._is_on), dtype=bool)
        others = self._is_on.copy()
        others[opened] = False
        homes, visits = it.count(others)
        left = opened
        while len(left) and answer.x is not None:
            if self._gain(answer) <= self._stage.close / 2:
                return made, LOST
            wanted = answer.x[it.columns[left]]
            carried = it.carried_kg(answer.x)[left]
            order = np.lexsort((left, -np.round(carried, 6), -np.round(wanted, 6)))
            if wanted[order[0]] < 1e-6:
                break
            surest = left[order[: max(1, int((wanted > AT_ONCE).sum()))]]
            for each in surest.reshape(-1, 1):
                if it.fit(each, homes, visits)[0]:
                    made[each] = True
                    homes[it.source_day[each]] += it.counts[each]
                    visits[it.home_day[each]] += it.counts[each]
            rest = left[~np.isin(left, surest)]
            fit = it.fit(rest, homes, visits)
            settled, left = np.concatenate([surest, rest[~fit]]), rest[fit]
            self._set(settled, made[settled].astype(float), made[settled].astype(float))
            answer = self._solve()
        if len(left):
            self._set(left, np.zeros(len(left)), np.zeros(len(left)))
            answer = self._solve()
        return made, answer

    def _set(self, choices: Ints, lower: Floats, upper: Floats) -> None:
        """New bounds for choices; where a visit is shut its flows are, too, or the engine would
        try them one after another in vain."""
        if not len(choices):
            return
        flows = [self._choices.flows_of[i] for i in choices.tolist()]
        shut = np.repeat(upper < 0.5, [len(each) for each in flows])
        columns, program = np.concatenate(flows), self._part.program
        self._ladder.set_bounds(self._choices.columns[choices], lower, upper)
        self._ladder.set_bounds(
            columns, program.lower[columns], np.where(shut, 0.0, program.upper[columns])
        )

    def _solve(self, *, opened: bool = False) -> Answer:
        answer = self._ladder.solve(primal=opened)
        self.work += answer.iterations + SOLVE_WORK
        return answer

    def _gain(self, answer: Answer) -> float:
        return -np.inf if answer.x is None else self._best.value - answer.value

    def _propose(self) -> Proposal:
        if self._best.x is None:
            return Proposal(self.columns, None, self.work)
        x = self._best.x.copy()
        x[self._choices.columns] = np.rint(x[self._choices.columns])
        better = is_better(self._part.costs @ x, self._before)
        return Proposal(self.columns, x if better else None, self.work)


LOST = Answer(x=None, value=np.inf, bound=-np.inf, proved=False)
"""The outcome of a try that was given up."""
