"""What a change would do to a plan, at once and without the solver.

The plan is kept; what the change forbids or crowds out is taken away, what was set free is
given to the hungriest home in reach with room. The answer is valid but not the best: the
solver may do better around the same change.
"""

from __future__ import annotations

from dataclasses import dataclass

from apps.planning.core.change import Change
from apps.planning.core.home import Passed
from apps.planning.core.lookup import UNIT, Index
from apps.planning.core.measure import list_left_over
from apps.planning.core.problem import Placement, Problem
from apps.planning.core.repair import Repair
from apps.planning.core.result import WISHES, Feed, LeftOver, Result
from apps.planning.core.standing import Standing

__all__ = ["Change", "Consequences", "HomeChange", "what_if"]


@dataclass(frozen=True, slots=True)
class HomeChange:
    """What a home is fed over all days, before and after, against minimum and target; `sure`
    what it is fed even if batches bring no more than their low figure."""

    digester: str
    fed_vs_g: float
    fed_vs_g_after: float
    sure_vs_g: float
    sure_vs_g_after: float
    min_vs_g: int
    target_vs_g: int
    days_below_target: tuple[int, ...]
    """Days that reached their target before and no longer do."""

    @property
    def falls_below_minimum(self) -> bool:
        return self.sure_vs_g_after < self.min_vs_g <= self.sure_vs_g

    @property
    def falls_below_target(self) -> bool:
        return self.fed_vs_g_after < self.target_vs_g <= self.fed_vs_g


@dataclass(frozen=True, slots=True)
class Consequences:
    """A change's effects. `would_pass`: limits passed if nothing gave way; `cannot_keep`: what
    no giving way could heal, so that the change contradicts a limit, a pin or a begun pickup.
    `placements` and `feeds` are the plan with the change."""

    homes: tuple[HomeChange, ...]
    would_pass: tuple[Passed, ...]
    cannot_keep: tuple[Passed, ...]
    left_over_before: tuple[LeftOver, ...]
    left_over_after: tuple[LeftOver, ...]
    gone: tuple[Placement, ...]
    new: tuple[Placement, ...]
    wishes: tuple[tuple[str, float, float], ...]
    """Name, value before, value after."""
    placements: tuple[Placement, ...]
    feeds: tuple[Feed, ...]

    @property
    def fall_below_minimum(self) -> tuple[HomeChange, ...]:
        return tuple(home for home in self.homes if home.falls_below_minimum)

    @property
    def left_over_more(self) -> tuple[LeftOver, ...]:
        """What would be left over beyond what is now."""
        before = {each.batch: each.amount_g for each in self.left_over_before}
        return tuple(
            LeftOver(each.batch, each.amount_g - before.get(each.batch, 0))
            for each in self.left_over_after
            if each.amount_g > before.get(each.batch, 0)
        )


def what_if(problem: Problem, result: Result, change: Change) -> Consequences:
    """The plan with the change made, and how it differs.

    Raises KeyError where the change names a batch or digester that the problem has not.
    """
    changed = change.apply(problem)
    before = Standing.of(problem, result)
    repair = Repair(before, Index(changed))
    would_pass = repair.force(change)
    repair.heal()
    repair.place()
    after = repair.standing
    placements, feeds = after.placements(), after.feeds()
    old, new = set(result.placements), set(placements)
    return Consequences(
        homes=tuple(
            _home_change(before, after, code)
            for code in sorted(after.homes)
            if after.homes[code].feeds != before.homes[code].feeds
            or (change.batches and after.homes[code].sure_vs_g() != before.homes[code].sure_vs_g())
        ),
        would_pass=would_pass,
        cannot_keep=repair.still_passed(),
        left_over_before=result.left_over,
        left_over_after=list_left_over(changed, placements, feeds),
        gone=tuple(sorted(old - new, key=_by_code)),
        new=tuple(sorted(new - old, key=_by_code)),
        wishes=tuple(
            (name, value, value_after)
            for (name, _), value, value_after in zip(
                WISHES, before.measure(), after.measure(), strict=True
            )
        ),
        placements=placements,
        feeds=feeds,
    )


def _by_code(placement: Placement) -> tuple[str, str, int, int]:
    return placement.batch, placement.digester, placement.day, placement.amount_g


def _home_change(before: Standing, after: Standing, code: str) -> HomeChange:
    old, new = before.homes[code], after.homes[code]
    digester = new.digester
    return HomeChange(
        digester=code,
        fed_vs_g=sum(day[1] for day in old.fed) / UNIT,
        fed_vs_g_after=sum(day[1] for day in new.fed) / UNIT,
        sure_vs_g=old.sure_vs_g(),
        sure_vs_g_after=new.sure_vs_g(),
        min_vs_g=digester.min_vs_g,
        target_vs_g=sum(digester.target_vs_g),
        days_below_target=tuple(
            day
            for day, target in enumerate(digester.target_vs_g)
            if new.fed[day][1] < target * UNIT <= old.fed[day][1]
        ),
    )
