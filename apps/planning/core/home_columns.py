"""Plans put together from whole plans of single homes, priced against each other.

Dantzig-Wolfe decomposition by homes (G. B. Dantzig, P. Wolfe, Operations Research 8 (1960)
101-111; for assignment problems M. Savelsbergh, Operations Research 45 (1997) 831-841; both
from memory): a relaxation chooses among the plans known of each home and prices what homes
share; each home then offers its best plan at these prices, until none helps. Choices are then
fixed a few at a time, the surest first, and homes asked again.

Each round costs one relaxation and one small problem a home, so it grows with the homes, not
with their combinations.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
from scipy import sparse

from apps.planning.core.engine import Ladder, Program
from apps.planning.core.home_part import split_homes
from apps.planning.core.improve import State, is_better
from apps.planning.core.model import CARRYING, UNFAIR, UNSTEADY, Floats, Model

ROUNDS = 400
"""Rounds of offers before anything is fixed."""
ROUNDS_AGAIN = 8
"""Rounds after some choices were fixed."""
CALM = 0.8
"""How much prices stay at the best so far: from the relaxation alone they swing widely."""
SURE = 0.5
"""A choice that so large a part of the relaxation makes is fixed together with others."""
PART_A_STEP = 0.1
"""The part of the open choices that one step fixes at most."""
MOST = 20_000
"""Simplex iterations after which a relaxation is given up."""
TOO_DEAR = 1e6
"""A price at which homes take of what they share only what is fixed."""
SHAKE = 0.3
"""How much of a choice's part the drawn orders may leave out of account."""
DIVES = 4
"""How often choices are fixed from the start: the first time by their parts alone."""
WORTH = 1e-6
"""A plan must better the relaxation by this to be added."""


class HomeColumns:
    """The known plans of every home, and the relaxation that chooses among them."""

    def __init__(
        self, model: Model, cost: Floats, start: Floats, *, close: float, seed: int = 0
    ) -> None:
        """`cost`: per column of the model; `start`: a plan that keeps all rows; `close`: what
        prices may still be off by."""
        self._model, self._cost, self._seed, self._close = model, cost, seed, close
        self._parts, self._rows = split_homes(model, cost)
        self._at_home = {
            int(column): (h, i)
            for h, part in enumerate(self._parts)
            for i, column in enumerate(part.columns.tolist())
        }
        self._plans: list[tuple[int, Floats]] = []
        self._known: set[tuple[int, bytes]] = set()
        self._alone = np.flatnonzero(model.home < 0)
        self._alone_shared = model.matrix.tocsr()[self._rows][:, self._alone]
        self._ladder = Ladder(self._empty(), seed=seed, most=MOST)
        for h, part in enumerate(self._parts):
            self._add(h, start[part.columns])
        self._batch_of = {column: batch for (batch, _, _), column in model.whole.items()}
        self._ways_of_batch: dict[int, list[int]] = {}
        for column, batch in self._batch_of.items():
            self._ways_of_batch.setdefault(batch, []).append(column)
        self._spare = np.full(len(self._rows), -TOO_DEAR)
        self._center: Floats | None = None
        self._best = -np.inf
        self._root: tuple[float, Floats | None] = (-np.inf, None)
        self.work = 0

    def _empty(self) -> Program:
        """The relaxation before any plan is known: shared rows, one plan a home, and the
        columns that belong to no home."""
        model, homes = self._model, len(self._parts)
        matrix = sparse.vstack([self._alone_shared, sparse.csr_matrix((homes, len(self._alone)))])
        return Program(
            cost=self._cost[self._alone],
            matrix=matrix.tocsc(),
            row_lower=np.concatenate([model.row_lower[self._rows], np.ones(homes)]),
            row_upper=np.concatenate([model.row_upper[self._rows], np.ones(homes)]),
            lower=model.lower[self._alone],
            upper=model.upper[self._alone],
            integral=np.zeros(len(self._alone), dtype=bool),
        )

    def _add(self, h: int, x: Floats) -> bool:
        key = (h, np.round(x, 9).tobytes())
        if key in self._known:
            return False
        self._known.add(key)
        part = self._parts[h]
        adds = part.shared @ x
        at = np.flatnonzero(adds)
        self._ladder.add_column(
            float(part.program.cost @ x),
            np.append(at, len(self._rows) + h),
            np.append(adds[at], 1.0),
        )
        self._plans.append((h, x))
        return True

    def value_of(self, x: Floats) -> float:
        """A plan's cost, as the relaxation counts it."""
        return float(self._cost @ x)

    def price(self, rounds: int, is_over: Callable[[], bool]) -> tuple[Floats, Floats] | None:
        """Asks homes for plans until none helps; the part taken of each plan, and the columns
        that belong to no home. None when the relaxation breaks down."""
        self._best = -np.inf
        count = len(self._rows)
        while True:
            answer = self._ladder.solve()
            if answer.x is None or answer.row_duals is None:
                return None
            self.work += answer.iterations
            rounds -= 1
            if rounds < 0 or is_over() or answer.value - self._best < self._close:
                break
            prices, plan_prices = answer.row_duals[:count], answer.row_duals[count:]
            fresh = False
            if self._center is not None:
                fresh = self._ask(CALM * self._center + (1 - CALM) * prices, prices, plan_prices)
            if not (fresh or self._ask(prices, prices, plan_prices)):
                break
        alone = len(self._alone)
        return answer.x[alone:], answer.x[:alone]

    def _ask(self, at: Floats, prices: Floats, plan_prices: Floats) -> bool:
        """Every home's best plan at prices `at`; whether one helps the relaxation."""
        bound = self._bound_of_shared(at)
        fresh = False
        for h, part in enumerate(self._parts):
            found = part.best_plan(at, self._seed)
            if found is None:
                return False
            x, value = found
            bound += value
            gain = plan_prices[h] - float((part.program.cost - part.shared.T @ prices) @ x)
            if gain > WORTH:
                fresh |= self._add(h, x)
        if bound > self._best:
            self._best, self._center = bound, at
        return fresh

    def _bound_of_shared(self, prices: Floats) -> float:
        """What shared rows and columns without a home add to the bound at these prices."""
        model = self._model
        lower, upper = model.row_lower[self._rows], model.row_upper[self._rows]
        side = np.where(prices > 0, lower, upper)
        paid = float(np.sum(prices[prices != 0] * side[prices != 0]))
        reduced = self._cost[self._alone] - self._alone_shared.T @ prices
        end = np.where(reduced >= 0, model.lower[self._alone], model.upper[self._alone])
        return paid + float(np.sum(reduced[reduced != 0] * end[reduced != 0]))

    def choose(self, number: int, is_over: Callable[[], bool]) -> Floats | None:
        """The model's columns of a plan found by fixing choices step by step; None when that
        leads nowhere. From `number` 1 on the order of fixing is drawn."""
        self._open_all()
        draw = random.Random(f"{self._seed}/{number}") if number else None
        taken = self.price(ROUNDS if number == 0 else ROUNDS_AGAIN, is_over)
        if number == 0:
            self._root = (self._best, self._center)
        while taken is not None and not is_over():
            parts, alone = taken
            if np.all(np.abs(parts - np.rint(parts)) < 1e-6):
                return self._put_together(parts, alone)
            if not self._fix(parts, draw):
                return None
            taken = self.price(ROUNDS_AGAIN, is_over)
        return None

    @property
    def bound(self) -> float:
        """The least that any plan costs, by the first prices; -inf before them."""
        return self._root[0]

    def least_with(self) -> Floats:
        """By column of the model, for choices: what every plan that makes it costs at least, at
        the first prices and with nothing fixed."""
        self._open_all()
        best, center = self._root
        out = np.full(len(self._model.lower), -np.inf)
        for part in self._parts:
            free = None if center is None else part.best_plan(center, self._seed)
            if free is None or center is None:
                continue
            lower, upper = part.program.lower, part.program.upper
            for i in np.flatnonzero(part.program.integral & (lower < 0.5) & (upper > 0.5)):
                lower[i] = 1.0
                made = part.best_plan(center, self._seed)
                lower[i] = 0.0
                out[part.columns[i]] = np.inf if made is None else best + made[1] - free[1]
        return out

    def _open_all(self) -> None:
        """Nothing is fixed any more."""
        for part in self._parts:
            part.open_all()
        count = len(self._plans)
        columns = len(self._alone) + np.arange(count)
        self._ladder.set_bounds(columns, np.zeros(count), np.full(count, np.inf))

    def _put_together(self, parts: Floats, alone: Floats) -> Floats:
        x = np.zeros(len(self._model.lower))
        x[self._alone] = alone
        for at in np.flatnonzero(parts > 0.5).tolist():
            h, plan = self._plans[at]
            x[self._parts[h].columns] = plan
        return x

    def _fix(self, parts: Floats, draw: random.Random | None) -> bool:
        """Fixes the surest open choices; False when there is none."""
        wanted = np.zeros(len(self._model.lower))
        for at in np.flatnonzero(parts > 1e-9).tolist():
            h, plan = self._plans[at]
            wanted[self._parts[h].columns] += parts[at] * plan
        open_ = [
            column
            for column in np.flatnonzero(self._model.integral & (wanted > 1e-6)).tolist()
            if self._is_open(column)
        ]
        if draw is not None:
            for column in open_:
                wanted[column] *= draw.uniform(1 - SHAKE, 1)
        open_.sort(key=lambda column: (-round(float(wanted[column]), 9), column))
        most = max(1, round(PART_A_STEP * len(open_)))
        fixed = 0
        touched: set[int] = set()
        for column in open_:
            if fixed >= most or (fixed and wanted[column] < SURE):
                break
            if self._is_open(column):
                touched |= self._fix_one(column)
                fixed += 1
        for h in sorted(touched):
            self._offer_anew(h)
        self._close_plans(touched)
        return bool(fixed)

    def _is_open(self, column: int) -> bool:
        h, i = self._at_home[column]
        program = self._parts[h].program
        return bool(program.lower[i] < 0.5 < program.upper[i])

    def _fix_one(self, column: int) -> set[int]:
        """Fixes a choice, and closes what else its batch could do; where its home has no plan
        with it, closes it itself. The homes that this concerns."""
        h, i = self._at_home[column]
        part = self._parts[h]
        part.program.lower[i] = 1.0
        if part.best_plan(self._spare, self._seed) is None:
            part.program.lower[i] = part.program.upper[i] = 0.0
            return {h}
        touched = {h}
        for other in self._ways_of_batch.get(self._batch_of.get(column, -1), ()):
            k, j = self._at_home[other]
            if other != column and self._parts[k].program.upper[j] > 0.5:
                self._parts[k].program.upper[j] = 0.0
                touched.add(k)
        return touched

    def _offer_anew(self, h: int) -> None:
        """The home's best plan with what is fixed, and the one that takes least of others."""
        for prices in (self._center, self._spare):
            found = None if prices is None else self._parts[h].best_plan(prices, self._seed)
            if found is not None:
                self._add(h, found[0])

    def _close_plans(self, homes: set[int]) -> None:
        """Plans of these homes that go against what is fixed are no longer there to be chosen."""
        against = [
            at
            for at, (h, x) in enumerate(self._plans)
            if h in homes
            and (
                np.any(x < self._parts[h].program.lower - 1e-6)
                or np.any(x > self._parts[h].program.upper + 1e-6)
            )
        ]
        columns = len(self._alone) + np.array(against, dtype=np.int64)
        self._ladder.set_bounds(columns, np.zeros(len(against)), np.zeros(len(against)))


def choose_by_homes(
    state: State,
    *,
    work: int,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
    is_proved: Callable[[HomeColumns], bool] = lambda _: False,
) -> HomeColumns:
    """Replaces the state's plan by the best found from homes' plans, if that is better;
    `is_proved` is asked once, after the first plan, whether it is the best already."""
    model = state.model
    weights = weights_for(model)
    close = CLOSE * weights[CARRYING]
    columns = HomeColumns(model, weights @ model.costs, state.x, close=close, seed=seed)
    better = False
    for number in range(DIVES):
        if number and state.work + columns.work >= work:
            break
        x = columns.choose(number, is_over)
        state.steps += 1
        if x is not None and is_better(model.costs @ x, model.costs @ state.x):
            state.move(np.arange(len(x)), x)
            better = True
        if number == 0 and is_proved(columns):
            break
    state.work += columns.work
    if better:
        state.changed.update(dict.fromkeys(range(len(model.problem.digesters)), state.steps))
    return columns


def weights_for(model: Model) -> Floats:
    """All wishes at once, each well above the next, in figures that the engine likes: placing a
    batch is worth a hundred at most, and more than any carrying."""
    flows = len(model.flows.batch)
    kg = np.array([b.amount_g / 1000 for b in model.problem.batches])[model.flows.batch]
    trip = model.costs[CARRYING, model.visits.column[model.flows.visit]]
    carrying = model.costs[CARRYING, :flows] * kg + trip
    dearest = max(float((carrying / np.maximum(kg, 1e-3)).max()), 1e-6)
    least = np.array([1e6, 3e5, 1e5, 1e3, 1.0, 1.0 / (PLACING * dearest), 0.0, 0.0])
    least[UNSTEADY], least[UNFAIR] = 1e-2 * least[CARRYING], 1e-4 * least[CARRYING]
    return least * 100.0 / max(float(kg.max()), 1e-6)


CLOSE = 0.3
"""kg·km that prices need not be nearer to the best."""
PLACING = 3.0
"""How much more placing a kilogram is worth than carrying it at its dearest."""
