"""The eight wishes, worked out a second time from the document.

Exact fractions; the document's numbers may be these in floating point.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction

from apps.planning.verifier.reading import MILLION, Plan

WISH_NAMES = (
    "below_minimum_vs_g",
    "sources_overdue",
    "changes_over_budget",
    "shortfall_vs_mg",
    "left_over_g",
    "carrying_g_m",
    "unsteady_trips",
    "unfairness_vs_mg",
)

SHORTFALL_PIECES = ((500_000, 4), (800_000, 2), (1_000_000, 1))
"""Upper end of the piece in ppm of the target over all days, and the weight of what it misses."""

FIRST_TRIP_G_M, LATER_TRIP_G_M = 1_000_000, 200_000
"""What a trip cost beside its load before documents said so: before batches had a low figure,
and after."""


def wish_values(plan: Plan) -> dict[str, Fraction]:
    fed_vs_g, sure_vs_g = _fed_vs_g(plan)
    return {
        "below_minimum_vs_g": sum(
            (
                max(Fraction(0), digester["min_vs_g"] - sure_vs_g[code])
                for code, digester in plan.digesters.items()
            ),
            Fraction(0),
        ),
        "sources_overdue": Fraction(len(overdue_sources(plan))),
        "changes_over_budget": Fraction(_changes_over_budget(plan)),
        "shortfall_vs_mg": sum(
            (
                _shortfall_mg(target_vs_g, sure_vs_g[code])
                for code, target_vs_g in _target_vs_g(plan).items()
            ),
            Fraction(0),
        ),
        "left_over_g": Fraction(sum(left_over_g(plan).values())),
        "carrying_g_m": Fraction(_carrying_g_m(plan)),
        "unsteady_trips": Fraction(
            sum(
                not (pair and pair["steady"])
                for pair in (plan.pairs.get((source, code)) for source, code, _ in plan.visits)
            )
        ),
        "unfairness_vs_mg": _unfairness_mg(plan, fed_vs_g),
    }


def _fed_vs_g(plan: Plan) -> tuple[dict[str, Fraction], dict[str, Fraction]]:
    """By digester over all days: as expected, and of what surely comes."""
    fed: dict[str, Fraction] = defaultdict(Fraction)
    sure: dict[str, Fraction] = defaultdict(Fraction)
    for row in plan.feeds:
        lot = plan.lot(row["lot"], row["digester"])
        ppm = plan.usable_ppm(lot.source, row["digester"]) if lot else MILLION
        vs_ppm = plan.materials[row["material"]]["vs_ppm"]
        vs_g = Fraction(row["amount_g"] * ppm * vs_ppm, MILLION**2)
        fed[row["digester"]] += vs_g
        sure[row["digester"]] += vs_g * Fraction(plan.sure_ppm(row["lot"]), MILLION)
    return fed, sure


def overdue_sources(plan: Plan) -> list[str]:
    """Sources with something to give that nobody visits and that pass the rota's limit."""
    visited = {source for source, _, _ in plan.visits}
    giving = {batch["source"] for batch in plan.batches.values()}
    limit = plan.document["rules"]["rota_limit_days"]
    return sorted(
        code
        for code in giving - visited
        if plan.sources[code]["waited_days"] is None
        or plan.sources[code]["waited_days"] + len(plan.days) > limit
    )


def _changes_over_budget(plan: Plan) -> int:
    budget: int | None = plan.document["rules"]["change_budget"]
    if budget is None:
        return 0
    before = {
        (plan.batches[row["batch"]]["source"], row["digester"], row["on"])
        for row in plan.document["previous"]
        if row["batch"] in plan.batches
    }
    return max(0, len(before ^ set(plan.visits)) - budget)


def _target_vs_g(plan: Plan) -> dict[str, int]:
    targets: dict[str, int] = defaultdict(int)
    for (digester, _), day in plan.digester_days.items():
        targets[digester] += day["target_vs_g"]
    return targets


def _shortfall_mg(target_vs_g: int, fed_vs_g: Fraction) -> Fraction:
    total = Fraction(0)
    lower = 0
    for upper, weight in SHORTFALL_PIECES:
        start, end = (Fraction(target_vs_g * ppm, MILLION) for ppm in (lower, upper))
        total += weight * (end - min(end, max(start, fed_vs_g)))
        lower = upper
    return 1000 * total


def left_over_g(plan: Plan) -> dict[str, int]:
    """By lot, what is neither placed nor, for stock that ends in the horizon, fed."""
    left = {code: batch["amount_g"] for code, batch in plan.batches.items()}
    for row in plan.placements:
        left[row["batch"]] -= row["amount_g"]
    fed: dict[tuple[str, str], int] = defaultdict(int)
    for row in plan.feeds:
        fed[row["digester"], row["lot"]] += row["amount_g"]
    for key, lot in plan.stock.items():
        if plan.days and lot.feed_by <= plan.days[-1]:
            left[lot.code] = left.get(lot.code, 0) + lot.amount_g - fed[key]
    return {code: amount for code, amount in left.items() if amount}


def _trip_g_m(plan: Plan) -> int:
    said: int | None = plan.document["rules"].get("trip_g_m")
    if said is not None:
        return said
    is_later = any("low_g" in batch for batch in plan.batches.values())
    return LATER_TRIP_G_M if is_later else FIRST_TRIP_G_M


def _carrying_g_m(plan: Plan) -> int:
    total: int = _trip_g_m(plan) * len(plan.visits)
    for (source, digester, _), rows in plan.visits.items():
        pair = plan.pairs.get((source, digester))
        total += (pair["distance_m"] if pair else 0) * sum(row["amount_g"] for row in rows)
    return total


def _unfairness_mg(plan: Plan, fed_vs_g: dict[str, Fraction]) -> Fraction:
    fills = [digester["recent_fill_ppm"] for digester in plan.digesters.values()]
    mean_ppm = sum(fills) // len(fills) if fills else 0
    return sum(
        (
            1000 * fed_vs_g[code] * Fraction(max(0, row["recent_fill_ppm"] - mean_ppm), MILLION)
            for code, row in plan.digesters.items()
        ),
        Fraction(0),
    )
