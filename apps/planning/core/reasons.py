"""Reasons, as figures that can be tested again: `holds` repeats the test that found them.

A reason is about one batch and, mostly, one home. Its words are in `sentences.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from apps.planning.core.bends import Bend
from apps.planning.core.measure import measure_wishes
from apps.planning.core.problem import Problem
from apps.planning.core.result import WISHES, Result
from apps.planning.core.room import Candidate, Room, candidate, feed_early, room, tightest
from apps.planning.core.standing import Standing

WISH_NAMES = tuple(name for name, _ in WISHES)


@dataclass(frozen=True, slots=True)
class Blocked:
    """A home that could not take `wanted_g` of a batch: on `day`, its best, a rule lets in
    `fit_g` only, and `needed_g` at least would have to come.

    `code` is one of `too_far`, `banned`, `material_refused`, `hours_never_meet`,
    `home_visits`, `source_homes`, `change_budget`, `carry_limit`, `day_maximum`, `share_cap`,
    `bin_full`, `below_smallest_pickup`, `below_smallest_part`, `too_late`, `amount_fixed`;
    `used` of `limit` in `unit` are taken, `what` names the cap or the share group (or what
    leaves the pickup so small).
    """

    code: str
    batch: str
    digester: str
    day: int
    wanted_g: int
    fit_g: int
    needed_g: int
    used: int = 0
    limit: int = 0
    unit: str = ""
    what: str = ""
    instead_of: tuple[str, int] | None = None
    """(digester, day) that the batch was taken from for this test; None for what is left."""

    def holds(self, problem: Problem, result: Result) -> bool:
        standing = Standing.of(problem, result)
        if self.instead_of is not None:
            home, day = self.instead_of
            standing = without(standing, self.batch, home, day)
        it = candidate(
            standing, standing.index.batches[self.batch], self.digester, self.day, self.wanted_g
        )
        return blocked(it, room(it), self.instead_of) == self


@dataclass(frozen=True, slots=True)
class HasRoom:
    """A home that could still take `fit_g` of what is left: nothing but the search stopped it."""

    batch: str
    digester: str
    day: int
    fit_g: int
    code: str = "has_room"

    def holds(self, problem: Problem, result: Result) -> bool:
        standing = Standing.of(problem, result)
        it = candidate(standing, standing.index.batches[self.batch], self.digester, self.day)
        found = room(it)
        return found.is_open and found.fit_g == self.fit_g


@dataclass(frozen=True, slots=True)
class Outranked:
    """The batch could go to `digester` on `other_day` instead, but then the first wish that
    differs, `wish`, would be `other_value` instead of `value`.

    `code` is `outranked` where that is worse, `as_good` where no wish differs (`wish` is
    empty), `would_be_better` where it is better: the plan is not the best one.
    """

    code: str
    batch: str
    home: str
    day: int
    digester: str
    other_day: int
    wish: str
    value: float
    other_value: float

    def holds(self, problem: Problem, result: Result) -> bool:
        """Measures both plans whole."""
        standing = Standing.of(problem, result)
        amount_g = standing.homes[self.home].parts[self.batch, self.day]
        moved = move(standing, self.batch, self.home, self.day, self.digester, self.other_day)
        if (
            moved is None
            or moved.homes[self.digester].parts.get((self.batch, self.other_day), 0) < amount_g
        ):
            return False
        here = measure_wishes(problem, result.placements, result.feeds)
        there = measure_wishes(problem, moved.placements(), moved.feeds())
        code, wish, value, other_value = compare(here, there)
        return (code, wish) == (self.code, self.wish) and (
            abs(value - self.value) <= _tolerance(value)
            and abs(other_value - self.other_value) <= _tolerance(other_value)
        )


@dataclass(frozen=True, slots=True)
class Held:
    """The batch cannot leave its home: what stays there would pass `rule` by `over` `unit`."""

    batch: str
    home: str
    day: int
    digester: str
    rule: str
    over: int
    unit: str
    code: str = "held"

    def holds(self, problem: Problem, result: Result) -> bool:
        standing = without(Standing.of(problem, result), self.batch, self.home, self.day)
        return any(
            (passed.rule, passed.over) == (self.rule, self.over)
            for passed in standing.homes[self.home].passed()
        )


@dataclass(frozen=True, slots=True)
class Fixed:
    """A pin (`pinned`) or a begun pickup (`started`) put the batch here."""

    code: str
    batch: str
    digester: str
    day: int

    def holds(self, problem: Problem, result: Result) -> bool:
        rows = problem.pins if self.code == "pinned" else problem.started
        key = (self.batch, self.digester, self.day)
        return any((row.batch, row.digester, row.day) == key for row in rows)


@dataclass(frozen=True, slots=True)
class NoHome:
    """No home at all: `nobody_in_reach`, or `not_in_these_days` when the batch cannot be
    collected inside the horizon."""

    code: str
    batch: str

    def holds(self, problem: Problem, result: Result) -> bool:
        index = Standing.of(problem, result).index
        batch = index.batches[self.batch]
        if self.code == "nobody_in_reach":
            return not index.homes_near.get(batch.source)
        return not index.collection_days(batch)


@dataclass(frozen=True, slots=True)
class SmallestChange:
    """Bending one rule places `amount_g` of what is left, with the same pickups."""

    batch: str
    amount_g: int
    bend: Bend
    code: str = "smallest_change"

    def holds(self, problem: Problem, result: Result) -> bool:
        """Enough as stated, and not enough when bent by one unit less."""
        return self._places(problem, result, self.bend.by) and not self._places(
            problem, result, self.bend.by - 1
        )

    def _places(self, problem: Problem, result: Result, by: int) -> bool:
        changed = replace(self.bend, by=by).apply(problem) if by else problem
        standing = Standing.of(changed, result)
        it = candidate(
            standing, standing.index.batches[self.batch], self.bend.digester, self.bend.day
        )
        found = room(it)
        return found.is_open and found.fit_g >= self.amount_g


Reason = Blocked | HasRoom | Outranked | Held | Fixed | NoHome


def blocked(
    it: Candidate, found: Room, instead_of: tuple[str, int] | None = None
) -> Blocked | None:
    """The reason in a test of room; None where everything fits."""
    limit = tightest(it, found)
    if limit is None:
        return None
    return Blocked(
        code=limit.code,
        batch=it.batch.code,
        digester=it.home.digester.code,
        day=it.day,
        wanted_g=it.left_g,
        fit_g=found.fit_g,
        needed_g=found.needed_g,
        used=limit.used,
        limit=limit.limit,
        unit=limit.unit,
        what=limit.what,
        instead_of=instead_of,
    )


def without(standing: Standing, batch: str, home: str, day: int) -> Standing:
    """The plan without one placement."""
    other = standing.clone(home)
    other.take(batch, home, day, other.homes[home].parts[batch, day])
    return other


def move(
    standing: Standing, batch: str, home: str, day: int, digester: str, other_day: int
) -> Standing | None:
    """The plan with one placement at another home; None where it does not fit there whole."""
    amount_g = standing.homes[home].parts[batch, day]
    other = standing.clone(home, digester)
    other.take(batch, home, day, amount_g)
    it = candidate(other, other.index.batches[batch], digester, other_day, amount_g)
    if room(it).fit_g < amount_g or not room(it).is_open:
        return None
    other.put(batch, digester, other_day, feed_early(it, amount_g))
    return other


def compare(here: tuple[float, ...], there: tuple[float, ...]) -> tuple[str, str, float, float]:
    """Code, first wish that differs, and its two values."""
    for name, value, other in zip(WISH_NAMES, here, there, strict=True):
        if abs(value - other) > _tolerance(value):
            return ("outranked" if other > value else "would_be_better"), name, value, other
    return "as_good", "", 0.0, 0.0


def _tolerance(value: float) -> float:
    """Values are exact fractions in floating point."""
    return 1e-9 * max(1.0, abs(value))
