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
"""Name and meaning of each wish, most important first; all are minimised.

-   below_minimum_vs_g: per digester max(0, `min_vs_g` - VS fed over the horizon), summed.
-   sources_overdue: sources with a batch in the problem, no visit in the plan, and a wait
    that by the horizon's end passes the limit: `waited_days` None or
    `waited_days + days > rota_limit_days`.
-   changes_over_budget: (source, digester, day) visits in exactly one of `previous` and the
    plan, less the change budget, at least 0; 0 without a budget.
-   shortfall_vs_mg: for each digester the VS fed over the horizon against the sum of its
    `target_vs_g` (a tank that holds its slurry for weeks feels the week, not the day; the day
    has its maximum); each missing mg counts by the piece of the target that it is missing
    from (`SHORTFALL_PIECES`).
-   left_over_g: unplaced grams of batches, plus stock grams unfed by a `feed_by_day` that
    lies inside the horizon.
-   carrying_g_m: grams times `distance_m` over all placements, plus `Rules.trip_g_m` a visit.
-   unsteady_trips: visits between pairs that are not `steady`.
-   unfairness_vs_mg: VS mg fed times what the home's `recent_fill_ppm` exceeds the (floored)
    mean of all homes by, over 10^6.

"Fed" is by the plan, stock included, own kitchen waste excluded; grams count times the
pair's `usable_ppm`, and in below_minimum_vs_g and shortfall_vs_mg also times the batch's
`sure_ppm`: hunger is counted against what surely comes.
"""

SHORTFALL_PIECES = ((500_000, 4), (800_000, 2), (1_000_000, 1))
"""(upper end in ppm of the target, weight): a target's first half weighs most.
A ruling of ours: falling weights share hunger out over homes."""


@dataclass(frozen=True, slots=True)
class Feed:
    """Grams of one lot (a batch's code or a stock lot's) fed to a digester on one day, before
    trimming: a batch's feeds at a digester add up to what was placed there."""

    digester: str
    day: int
    lot: str
    amount_g: int


@dataclass(frozen=True, slots=True)
class LeftOver:
    """Grams of a batch that no digester takes, or of a stock lot (by its code) that is unfed
    when its time inside the horizon is over."""

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
