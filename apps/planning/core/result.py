"""What a plan is: placements, daily feeds, what is left over, and how good it is.

A result refers to its problem by codes and day indices only, so that it can be stored,
exported and checked by something that knows no solver.
"""

from __future__ import annotations

from dataclasses import dataclass

from apps.planning.core.problem import Placement

WISHES = (
    ("below_minimum_vs_g", "VS grams missing to the seven-day minimum, all digesters"),
    ("sources_overdue", "sources left waiting past the rota's limit"),
    ("changes_over_budget", "pickups changed beyond the change budget"),
    ("shortfall_vs_mg", "VS below target, weighted in three convex pieces"),
    ("left_over_g", "grams that nobody takes before they spoil"),
    ("carrying_g_m", "gram-metres carried, plus a fixed cost a trip"),
    ("unsteady_trips", "trips outside steady pairs"),
    ("unfairness_vs_mg", "VS given to homes ahead of their 28-day share"),
)
"""Name and meaning of each wish, most important first; all are minimised."""


@dataclass(frozen=True, slots=True)
class Feed:
    """Grams of one lot (a batch's code or a stock lot's) fed to a digester on one day."""

    digester: str
    day: int
    lot: str
    amount_g: int


@dataclass(frozen=True, slots=True)
class LeftOver:
    """Grams of a batch that no digester takes."""

    batch: str
    amount_g: int


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish's value and the best value proved possible given the wishes before it."""

    name: str
    value: float
    bound: float


@dataclass(frozen=True, slots=True)
class Provenance:
    """How a plan was made, so that it can be made again."""

    seed: int
    iterations: int
    engine: str
    input_hash: str
    stopped_by: str
    """'proved', 'gap', 'iterations' or 'clock' (previews only)."""


@dataclass(frozen=True, slots=True)
class Result:
    """A plan for a problem. Tuples are sorted by their fields in order."""

    placements: tuple[Placement, ...]
    feeds: tuple[Feed, ...]
    left_over: tuple[LeftOver, ...]
    wishes: tuple[Wish, ...]
    provenance: Provenance
