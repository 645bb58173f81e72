"""What pages add to a stored plan: what is mixed each day, and a verdict on each wish."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from apps.feedstock.core.measures import count_words
from apps.kernel.sentences import Sentence
from apps.planning.models import Plan
from apps.planning.queries.explain import wish_lines

GAP_SHOWN = 1e-6
"""Relative distance from the bound under which a wish counts as met as well as it can be."""

Portions = dict[str, dict[date, list[tuple[str, int]]]]
"""By digester code, then day: material name and grams, own kitchen waste first."""


def day_portions(plan: Plan) -> Portions:
    """What goes into each digester on each day of the plan."""
    names = {row["code"]: row["name"] for row in plan.document["materials"]}
    grams: dict[tuple[str, date], dict[str, int]] = defaultdict(dict)
    for row in plan.document["digester_days"]:
        day = grams[row["digester"], date.fromisoformat(row["on"])]
        for own in row["own_waste"]:
            day[own["material"]] = day.get(own["material"], 0) + own["amount_g"]
    for feed in plan.document["feeds"]:
        day = grams[feed["digester"], date.fromisoformat(feed["on"])]
        day[feed["material"]] = day.get(feed["material"], 0) + feed["usable_g"]
    portions: Portions = defaultdict(dict)
    for (digester, on), day in grams.items():
        portions[digester][on] = [
            (names.get(code, code), amount_g) for code, amount_g in day.items() if amount_g
        ]
    return dict(portions)


InMeasures = dict[str, dict[date, dict[str, tuple[str, str]]]]
"""By digester code, then day: count and measure of "waste" and of "water", where there are any."""


def day_measures(plan: Plan) -> InMeasures:
    """Each day's recipe in the home's own measures. Plans of earlier versions have none."""
    counts: InMeasures = defaultdict(dict)
    for row in plan.document["recipes"]:
        counts[row["digester"]][date.fromisoformat(row["on"])] = {
            each["of"]: (count_words(each["halves"]), each["measure"])
            for each in row.get("in_measures", ())
        }
    return dict(counts)


@dataclass(frozen=True, slots=True)
class Verdict:
    """A wish in words, and how far the plan may be from the best [%]; None: not known."""

    sentence: Sentence
    is_best: bool
    gap_percent: float | None


def verdicts(plan: Plan) -> list[Verdict]:
    """In order of importance. A bound is proved; no plan can be better than it."""
    found = []
    for line in wish_lines(plan):
        is_best = line.distance <= GAP_SHOWN * max(1.0, abs(line.value))
        gap = None if is_best or line.bound <= 0 else 100 * line.distance / line.bound
        found.append(Verdict(line.sentence, is_best, gap))
    return found
