"""What an exported plan says beyond problem and result: names, maxima, recipes, hours, notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from apps.planning.core.destinations import Destination, Sending

Document = dict[str, Any]
"""JSON values only: dict, list, str, int, float, bool, None."""

Hours = tuple[str, str]
"""Local opening and closing time of one stretch, `HH:MM`, `24:00` for midnight at the end."""


@dataclass(frozen=True, slots=True)
class Names:
    """What people call things, by code; a missing name falls back to the code."""

    group: str = ""
    time_zone: str = "UTC"
    plan: str = ""
    digesters: Mapping[str, str] = field(default_factory=dict)
    sources: Mapping[str, str] = field(default_factory=dict)
    materials: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DigesterDayFacts:
    """The maximum stored with one digester-day, own kitchen waste included, and its reason.

    `binding_rule` is a sentence naming the rule that makes the maximum what it is and
    `rule_source` where that rule is published (or that it is assumed).
    """

    digester: str
    day: int
    max_feed_g: int
    max_vs_g: int
    max_slurry_ml: int
    binding_rule: str = ""
    rule_source: str = ""


@dataclass(frozen=True, slots=True)
class InMeasure:
    """So many half measures of `of` ("waste" or "water"), e.g. 3 halves of a 10-litre pail."""

    of: str
    measure: str
    volume_ml: int
    halves: int


@dataclass(frozen=True, slots=True)
class DayRecipe:
    """Water for all that is fed on one digester-day, and the recipe in the home's measures:
    as English words, and counted so that a reader may say it in any language."""

    digester: str
    day: int
    water_ml: int
    words: str = ""
    in_measures: Sequence[InMeasure] = ()


@dataclass(frozen=True, slots=True)
class OpenHours:
    """Hours of one end (a source's or a digester's code) on one day; empty means closed."""

    code: str
    day: int
    stretches: tuple[Hours, ...]


@dataclass(frozen=True, slots=True)
class LeftOverNote:
    """Why grams of a batch (or stock lot) are left over, the smallest change that would place
    them, and where they go (None: they stay with the source)."""

    batch: str
    reason_code: str
    reason: str
    smallest_change: str = ""
    destination: str | None = None


@dataclass(frozen=True, slots=True)
class PlanFacts:
    """What the document says beyond problem and result; each part may be missing.

    Without `digester_days` a maximum is what the plan may add plus own kitchen waste. Ends
    without stated hours are exported as unknown (null) and the pair's days are believed.
    """

    digester_days: Sequence[DigesterDayFacts] = ()
    recipes: Sequence[DayRecipe] = ()
    source_hours: Sequence[OpenHours] = ()
    digester_hours: Sequence[OpenHours] = ()
    left_over: Sequence[LeftOverNote] = ()
    destinations: Sequence[Destination] = ()
    sendings: Sequence[Sending] = ()
    reach_m: int | None = None
