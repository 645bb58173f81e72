"""A plan taken apart into homes, so that one more batch, or one less, can be tried at once.

Trial plans share all homes that they do not touch with the plan they come from.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from apps.planning.core.home import Home
from apps.planning.core.lookup import Index
from apps.planning.core.measure import list_left_over, measure_wishes
from apps.planning.core.problem import DayCaps, Digester, Placement, Problem
from apps.planning.core.result import WISHES, Feed, Result

OVERDUE, CHANGES, LEFT_OVER = (
    [name for name, _ in WISHES].index(name)
    for name in ("sources_overdue", "changes_over_budget", "left_over_g")
)
"""Places of the wishes that are not sums over homes."""


class Standing:
    """A plan taken apart into homes."""

    def __init__(self, index: Index, placements: Iterable[Placement], feeds: Iterable[Feed]):
        self.index = index
        self._forget()
        self.homes = {code: Home(index, each) for code, each in index.digesters.items()}
        self.left_g = {code: batch.amount_g for code, batch in index.batches.items()}
        self.homes_of: dict[tuple[str, int], frozenset[str]] = {}
        for placement in placements:
            self.homes[placement.digester].add_part(
                placement.batch, placement.day, placement.amount_g
            )
            self.left_g[placement.batch] -= placement.amount_g
            key = (index.batches[placement.batch].source, placement.day)
            self.homes_of[key] = self.homes_of.get(key, frozenset()) | {placement.digester}
        for feed in feeds:
            self.homes[feed.digester].add_feed(feed.lot, feed.day, feed.amount_g)

    @classmethod
    def of(cls, problem: Problem, result: Result) -> Standing:
        return cls(Index(problem), result.placements, result.feeds)

    def clone(self, *homes: str) -> Standing:
        """A trial that shares every home but `homes` with this one."""
        other = Standing.__new__(Standing)
        other.index = self.index
        other._forget()
        other.homes = dict(self.homes)
        for code in homes:
            other.homes[code] = self.homes[code].clone()
        other.left_g = dict(self.left_g)
        other.homes_of = dict(self.homes_of)
        return other

    def _forget(self) -> None:
        """What was counted holds no more: something changes."""
        self._measured: tuple[float, ...] | None = None
        self._changes: int | None = None

    def take(self, batch: str, digester: str, day: int, amount_g: int) -> None:
        """Takes grams of a placement away, and as many of its feeds, earliest first (what
        stays was then never fed before it came)."""
        self._forget()
        home = self.homes[digester]
        home.add_part(batch, day, -amount_g)
        self.left_g[batch] += amount_g
        left = amount_g
        for when in range(day, self.index.problem.days):
            grams = min(left, home.feeds.get((batch, when), 0))
            if grams:
                home.add_feed(batch, when, -grams)
                left -= grams
        source = self.index.batches[batch].source
        if source not in home.visitors(day):
            key = (source, day)
            self.homes_of[key] = self.homes_of.get(key, frozenset()) - {digester}

    def put(self, batch: str, digester: str, day: int, feeds: Sequence[tuple[int, int]]) -> None:
        """Adds a placement, fed as (day, grams) says."""
        self._forget()
        home = self.homes[digester]
        amount_g = sum(grams for _, grams in feeds)
        home.add_part(batch, day, amount_g)
        for when, grams in feeds:
            home.add_feed(batch, when, grams)
        self.left_g[batch] -= amount_g
        key = (self.index.batches[batch].source, day)
        self.homes_of[key] = self.homes_of.get(key, frozenset()) | {digester}

    def placements(self) -> tuple[Placement, ...]:
        return _placements(self.homes)

    def feeds(self) -> tuple[Feed, ...]:
        return _feeds(self.homes)

    def measure(self) -> tuple[float, ...]:
        """The plan's wishes."""
        if self._measured is None:
            self._measured = measure_wishes(self.index.problem, self.placements(), self.feeds())
        return self._measured

    def measure_near(self, homes: Iterable[str], batches: Iterable[str]) -> tuple[float, ...]:
        """The wishes' part of some homes and batches: differences between two standings that
        differ only there equal those of the whole plans, at a fraction of the work."""
        near = {code: self.homes[code] for code in homes}
        codes = set(batches) | {batch for home in near.values() for batch, _ in home.parts}
        sources = {self.index.batches[code].source for code in codes}
        problem = self.index.problem
        part = replace(
            problem,
            digesters=(*(home.digester for home in near.values()), self._others(near)),
            sources=(),
            batches=tuple(self.index.batches[code] for code in sorted(codes)),
            pairs=tuple(
                self.index.pairs[key]
                for key in sorted((source, code) for source in sources for code in near)
                if key in self.index.pairs
            ),
            rules=replace(problem.rules, change_budget=None),
        )
        placements, feeds = _placements(near), _feeds(near)
        values = list(measure_wishes(part, placements, feeds))
        values[OVERDUE] = float(self._overdue(sources))
        values[CHANGES] = float(self._changes_over_budget())
        values[LEFT_OVER] = float(
            sum(self.left_g[code] for code in codes)
            + sum(
                left.amount_g
                for left in list_left_over(part, placements, feeds)
                if left.batch in self.index.stock
            )
        )
        return tuple(values)

    def _others(self, near: Mapping[str, Home]) -> Digester:
        """One digester in place of all that are not near: it is fed nothing and wants
        nothing, and the (floored) mean of recent fills stays what it is."""
        fills = [each.recent_fill_ppm for each in self.index.problem.digesters]
        mean_ppm = sum(fills) // len(fills)
        near_ppm = sum(home.digester.recent_fill_ppm for home in near.values())
        days = self.index.problem.days
        return Digester(
            code="",
            caps=(DayCaps(0, 0, 0),) * days,
            target_vs_g=(0,) * days,
            min_vs_g=0,
            bin_g=0,
            accepts=frozenset(),
            recent_fill_ppm=mean_ppm * (len(near) + 1) - near_ppm,
        )

    def _overdue(self, sources: Iterable[str]) -> int:
        days = self.index.problem.days
        limit = self.index.problem.rules.rota_limit_days
        return sum(
            1
            for code in set(sources)
            if not any(self.homes_of.get((code, day)) for day in range(days))
            and (
                self.index.sources[code].waited_days is None
                or (self.index.sources[code].waited_days or 0) + days > limit
            )
        )

    def _changes_over_budget(self) -> int:
        budget = self.index.problem.rules.change_budget
        return 0 if budget is None else max(0, self.changes() - budget)

    def changes(self) -> int:
        """Pickups (source, digester, day) that came or went since the announced plan."""
        if self._changes is None:
            now = {
                (source, digester, day)
                for (source, day), digesters in self.homes_of.items()
                for digester in digesters
            }
            self._changes = len(self.index.announced ^ now)
        return self._changes


def _placements(homes: Mapping[str, Home]) -> tuple[Placement, ...]:
    found = [
        Placement(batch, code, day, amount)
        for code, home in homes.items()
        for (batch, day), amount in home.parts.items()
    ]
    return tuple(sorted(found, key=lambda p: (p.batch, p.digester, p.day)))


def _feeds(homes: Mapping[str, Home]) -> tuple[Feed, ...]:
    found = [
        Feed(code, day, lot, amount)
        for code, home in homes.items()
        for (lot, day), amount in home.feeds.items()
    ]
    return tuple(sorted(found, key=lambda f: (f.digester, f.day, f.lot)))
