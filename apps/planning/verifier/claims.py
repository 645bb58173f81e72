"""What the plan says about itself, tested: left-over, usable grams, wishes, bounds, recipes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from apps.planning.verifier.reading import MILLION, Plan
from apps.planning.verifier.violation import Violation
from apps.planning.verifier.wishes import (
    WISH_NAMES,
    left_over_g,
    wish_values,
)

VALUE_TOLERANCE = 1e-9
"""Relative; values are fractions written as floating point."""

BOUND_TOLERANCE = 1e-6
"""Relative; a bound comes from floating-point arithmetic."""


def claims_broken(plan: Plan) -> Iterator[Violation]:
    yield from _left_over(plan)
    yield from _usable(plan)
    yield from _wishes(plan)
    yield from _recipes(plan)
    yield from _destinations(plan)


def _left_over(plan: Plan) -> Iterator[Violation]:
    real = left_over_g(plan)
    claimed = {row["lot"]: row["amount_g"] for row in plan.document["left_over"]}
    for code in sorted(real.keys() | claimed.keys()):
        off_g = claimed.get(code, 0) - real.get(code, 0)
        if off_g:
            yield Violation(
                "left_over",
                code,
                off_g,
                f"{claimed.get(code, 0)} g of {code} are said to be left over, "
                f"but {real.get(code, 0)} g are.",
            )


def _usable(plan: Plan) -> Iterator[Violation]:
    rows = [(row, row["batch"]) for row in plan.placements]
    rows += [(row, row["lot"]) for row in plan.feeds]
    for row, code in rows:
        lot = plan.lot(code, row["digester"])
        if lot is None:
            continue
        usable_g = row["amount_g"] * plan.usable_ppm(lot.source, row["digester"]) // MILLION
        place = f"{code} at {row['digester']} on {row['on']}"
        if row["usable_g"] != usable_g:
            yield Violation(
                "usable",
                place,
                row["usable_g"] - usable_g,
                f"{row['usable_g']} g of {code} are said to be usable, but {usable_g} g are.",
            )
        if row.get("material", lot.material) != lot.material:
            yield Violation(
                "lot_material", place, 0, f"{code} is {lot.material}, not {row['material']}."
            )


def _wishes(plan: Plan) -> Iterator[Violation]:
    claimed = plan.document["wishes"]
    if tuple(row.get("name") for row in claimed) != WISH_NAMES:
        yield Violation("wish_order", "wishes", 0, "The wishes are not the eight in their order.")
        return
    real = wish_values(plan)
    for row in claimed:
        off = row["value"] - real[row["name"]]
        if not abs(off) <= VALUE_TOLERANCE * max(1.0, float(abs(real[row["name"]]))):
            yield Violation(
                "wish_value",
                row["name"],
                float(off),
                f"{row['name']} is said to be {row['value']}, but is {float(real[row['name']])}.",
            )
        if not row["bound"] <= row["value"] + BOUND_TOLERANCE * max(1, abs(row["value"])):
            yield Violation(
                "wish_bound",
                row["name"],
                row["bound"] - row["value"],
                f"{row['name']} is {row['value']}, below its bound {row['bound']}: "
                "the bound is no bound.",
            )


def _recipes(plan: Plan) -> Iterator[Violation]:
    for row in plan.document["recipes"]:
        day = plan.digester_days[row["digester"], row["on"]]
        if row["water_ml"] > day["max_slurry_ml"]:
            yield Violation(
                "recipe_water",
                f"{row['digester']} on {row['on']}",
                row["water_ml"] - day["max_slurry_ml"],
                f"{row['water_ml']} ml water for {row['digester']} on {row['on']} is more than "
                f"its slurry limit of {day['max_slurry_ml']} ml.",
            )


def _destinations(plan: Plan) -> Iterator[Violation]:
    """What is sent to a named place goes on its last day, and the place has room for it."""
    places = {row["code"]: row for row in plan.document.get("destinations", [])}
    sent: dict[tuple[str, str], int] = defaultdict(int)
    for row in plan.document["left_over"]:
        code, batch = row.get("destination_code"), plan.batches.get(row["lot"])
        if code is None or batch is None:
            continue
        if code not in places:
            yield Violation(
                "destination", row["lot"], row["amount_g"], f"{row['lot']} goes to {code}, unknown."
            )
            continue
        last = min(batch["collect_by_on"], batch["feed_by_on"], plan.days[-1])
        if row["goes_on"] != max(last, plan.days[0]):
            yield Violation(
                "destination",
                row["lot"],
                row["amount_g"],
                f"{row['lot']} goes to {code} on {row['goes_on']}, but its last day is {last}.",
            )
        sent[code, row["goes_on"]] += row["amount_g"]
    for (code, on), amount_g in sorted(sent.items()):
        limit = places[code]["capacity_g_per_day"]
        if amount_g > limit:
            yield Violation(
                "destination_full",
                f"{code} on {on}",
                amount_g - limit,
                f"{amount_g} g go to {code} on {on}, at most {limit} g.",
            )
