"""The limits of one digester-day: each with its rule, and the one that binds."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from apps.digesters.core.facts import QUANTITIES
from apps.digesters.core.rules import Rule
from apps.digesters.core.share_caps import ShareCap
from apps.kernel.sentences import Sentence

PACES = frozenset({"rise_per_week", "gas_fall_ask", "reading_stale", "cooling_hold"})
"""Limits that say how far a feed may go from what the tank is used to, not what it can bear. A
plan may fill them whole: nine tenths of a rise of 15 % is hardly a rise, of a hold it is a fall."""


@dataclass(frozen=True)
class Limit:
    """One limit of one day: at most ``value`` of ``quantity`` (see ``facts.QUANTITIES``)."""

    rule_id: str
    quantity: str
    value: int
    sentence: Sentence
    source: str
    evidence: str


@dataclass(frozen=True)
class DayLimits:
    """Every limit of one digester-day and what follows from them.

    The three maxima add up over a day's feed, whatever its materials. ``target_vs_g`` lies at
    or under what a plan may fill; ``min_vs_g`` is the day's part of the seven-day minimum, 0
    while ``suspended`` says why.
    """

    digester: str
    on: date
    limits: tuple[Limit, ...]
    share_caps: tuple[ShareCap, ...]
    refused_groups: frozenset[str]
    target_vs_g: int
    min_vs_g: int
    suspended: Sentence | None
    planning_fill: float

    def binding(self, quantity: str) -> Limit:
        """The smallest limit on ``quantity``; of equal ones the first in order of cause."""
        return min(
            (limit for limit in self.limits if limit.quantity == quantity),
            key=lambda limit: limit.value,
        )

    @property
    def max_feed_g(self) -> int:
        """Most fresh grams that day."""
        return self.binding("feed_g").value

    @property
    def max_vs_g(self) -> int:
        """Most grams of volatile solids that day."""
        return self.binding("vs_g").value

    @property
    def max_slurry_ml(self) -> int:
        """Most millilitres of waste and water that day."""
        return self.binding("slurry_ml").value

    def planned_cap(self, quantity: str) -> int:
        """What a plan may fill: part of what the tank can bear, all of its pace."""
        return plannable(self.limits, quantity, self.planning_fill)


def by_rule(rule: Rule, rule_id: str, quantity: str, value: float, sentence: Sentence) -> Limit:
    """A limit that follows from ``rule``, in whole units rounded down."""
    # A float a hair below a whole number is that number.
    return Limit(
        rule_id, quantity, math.floor(round(value, 6)), sentence, rule.source, rule.evidence
    )


def smallest(limits: Sequence[Limit]) -> dict[str, int]:
    """The smallest limit on each quantity."""
    return {
        quantity: min(limit.value for limit in limits if limit.quantity == quantity)
        for quantity in QUANTITIES
    }


def plannable(limits: Sequence[Limit], quantity: str, planning_fill: float) -> int:
    """Most of ``quantity`` that a plan may fill under ``limits``; see ``PACES``."""
    return min(
        limit.value if limit.rule_id in PACES else math.floor(limit.value * planning_fill)
        for limit in limits
        if limit.quantity == quantity
    )
