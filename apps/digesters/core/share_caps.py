"""Shares of a day's feed that risky groups of material may make up."""

import math
from dataclasses import dataclass

from apps.digesters.core.rules import LimitRules
from apps.feedstock.core.risk_groups import NEEDS_GROUP_SWITCH

PPM = 1_000_000

_SHARES = (
    "citrus", "oil_fat", "onion", "fruit_sugar", "protein", "slow", "animal", "unknown_solids",
)  # fmt: skip

_BASIS = {"% of mass": "mass", "% of VS": "vs"}


@dataclass(frozen=True)
class ShareCap:
    """``group`` may be at most ``share_ppm`` of the day, own kitchen waste included, by
    ``basis``: ``mass`` (fresh grams) or ``vs``."""

    group: str
    share_ppm: int
    basis: str
    rule_id: str
    source: str


def share_caps(rules: LimitRules) -> tuple[ShareCap, ...]:
    """Caps of every day, by group code; refused groups have none (see ``refused_groups``)."""
    refused = refused_groups(rules)
    return tuple(
        ShareCap(
            group=group,
            share_ppm=math.floor(rules.value(rule_id) * PPM / 100),
            basis=_BASIS[rules[rule_id].unit],
            rule_id=rule_id,
            source=rules[rule_id].source,
        )
        for group in sorted(_SHARES)
        if group not in refused
        for rule_id in (f"share_{group}",)
    )


def refused_groups(rules: LimitRules) -> frozenset[str]:
    """Groups that nobody may bring to a digester: what is unfit, and what the group has not
    switched on by naming its local rule. A household's own kitchen waste stands apart."""
    return frozenset({"excluded"}) | (NEEDS_GROUP_SWITCH - rules.local_rules.keys())
