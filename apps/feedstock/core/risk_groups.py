"""Risk groups: what a day's feed may hold only a share of."""

from collections.abc import Mapping
from types import MappingProxyType

from apps.kernel.sentences import gettext_noop

RISK_GROUPS: Mapping[str, str] = MappingProxyType(
    {
        "citrus": gettext_noop("Citrus peel: its oil stops the gas makers."),
        "oil_fat": gettext_noop("Oil and fat: slow, scum, and acids that stop the gas makers."),
        "onion": gettext_noop("Onion and garlic: sulphur compounds work against the gas makers."),
        "fruit_sugar": gettext_noop("Sweet fruit and whey: they sour faster than anything else."),
        "protein": gettext_noop("Protein-rich waste: ammonia and hydrogen sulphide."),
        "slow": gettext_noop("Fibrous or mineral waste: floats or settles, and gives little gas."),
        "cooked": gettext_noop(
            "Cooked and mixed kitchen waste: may hold meat; the group decides by its local rule."
        ),
        "animal": gettext_noop(
            "Meat, fish and other animal waste: kept out unless the local rule is met."
        ),
        "unknown_solids": gettext_noop(
            "Waste whose solids nobody has measured: counted at a cautious figure."
        ),
        "excluded": gettext_noop("Not for a household digester."),
    }
)
"""What each group is, in plain words. Shares are limits and stand with the digesters' limits."""

RISK_GROUP_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "citrus": gettext_noop("citrus"),
        "oil_fat": gettext_noop("oil and fat"),
        "onion": gettext_noop("onion and garlic"),
        "fruit_sugar": gettext_noop("sweet fruit and whey"),
        "protein": gettext_noop("protein-rich waste"),
        "slow": gettext_noop("fibrous or mineral waste"),
        "cooked": gettext_noop("cooked waste"),
        "animal": gettext_noop("animal waste"),
        "unknown_solids": gettext_noop("waste of unmeasured solids"),
        "excluded": gettext_noop("waste unfit for a household digester"),
    }
)
"""What each group is called inside a sentence."""

NEEDS_GROUP_SWITCH = frozenset({"cooked", "animal"})
"""Off until the group names the local rule that allows it."""
