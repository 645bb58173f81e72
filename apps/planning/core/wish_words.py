"""Each wish of a plan as a sentence: what it means, its value, the least any plan could have."""

from __future__ import annotations

from math import ceil

from apps.kernel.sentences import Sentence, gettext_noop

_WISHES = {
    "below_minimum_vs_g": (
        1_000,
        gettext_noop(
            "Digesters miss %(value)s kg of volatile solids to their seven-day minimum; no plan "
            "misses less than %(bound)s kg."
        ),
    ),
    "sources_overdue": (
        1,
        gettext_noop(
            "%(value)s sources wait longer than they should; in every plan at least %(bound)s do."
        ),
    ),
    "changes_over_budget": (
        1,
        gettext_noop(
            "%(value)s pickups more than allowed change; in every plan at least %(bound)s do."
        ),
    ),
    "shortfall_vs_mg": (
        1_000_000,
        gettext_noop(
            "Digesters are %(value)s kg of volatile solids below target, the emptiest counting "
            "most; no plan comes below %(bound)s kg."
        ),
    ),
    "left_over_g": (
        1_000,
        gettext_noop(
            "%(value)s kg are left over; no plan as good otherwise could place more than %(more)s "
            "kg beyond this one."
        ),
    ),
    "carrying_g_m": (
        1_000_000,
        gettext_noop(
            "Carrying comes to %(value)s kilogram-kilometres, trips included; no plan as good "
            "otherwise has less than %(bound)s."
        ),
    ),
    "unsteady_trips": (
        1,
        gettext_noop(
            "%(value)s trips are outside steady pairs; no plan as good otherwise has fewer than "
            "%(bound)s."
        ),
    ),
    "unfairness_vs_mg": (
        1_000_000,
        gettext_noop(
            "%(value)s kg of volatile solids, weighted, go to homes ahead of their four-week "
            "share; no plan as good otherwise gives them less than %(bound)s kg."
        ),
    ),
}
"""By name: what the solver counts in one unit of the sentence, and the sentence."""


NOTHING = {
    "below_minimum_vs_g": gettext_noop("Every digester surely gets its seven-day minimum."),
    "sources_overdue": gettext_noop("No source waits longer than it should."),
    "changes_over_budget": gettext_noop("No more pickups change than are allowed to."),
    "shortfall_vs_mg": gettext_noop("Every digester reaches its target."),
    "left_over_g": gettext_noop("Nothing is left over."),
    "carrying_g_m": gettext_noop("Nothing is carried."),
    "unsteady_trips": gettext_noop("Every trip is within a steady pair."),
    "unfairness_vs_mg": gettext_noop("Nothing goes to homes ahead of their four-week share."),
}
"""What a wish that is met whole says."""

ENDED = {
    "proved": gettext_noop("every wish proved best"),
    "gap": gettext_noop("near enough to the best possible"),
    "iterations": gettext_noop("nothing better found with the work of an evening"),
    "clock": gettext_noop("the time allowed was over"),
}
"""Why the search ended, by what the plan's provenance says."""


def wish_sentence(name: str, value: float, bound: float) -> Sentence:
    """`value` and `bound` as the solver counts them; said in kilograms, visits or trips."""
    per_unit, template = _WISHES[name]
    if not value:
        return Sentence(NOTHING[name])
    if per_unit == 1:
        bound = ceil(bound - COUNTED)  # no plan has a part of a trip
    return Sentence(
        template,
        {
            "value": _figure(value / per_unit),
            "bound": _figure(bound / per_unit),
            "more": _figure(ceil(max(0.0, value - bound)) / per_unit),
        },
    )


COUNTED = 1e-6
"""What a bound may be over a whole number by float noise."""


def _figure(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"
