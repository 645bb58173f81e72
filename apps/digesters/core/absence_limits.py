"""Before and after days on which nobody is at a digester: taper, and come back to a stable level.

The last feed goes on giving gas for days, and nobody will burn it; so the days before are fed
less. After a week or more without feed the bacteria are fewer: what it took before comes back
less a share for each idle week. All shares but those of the rules are ours, assumed.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from apps.kernel.sentences import Sentence, gettext_noop

TAPER_PERCENT: Mapping[int, int] = MappingProxyType({1: 25, 2: 50, 3: 75})
"""By days before nobody is there: percent of the stable feed. Assumed."""

TAPER_SOURCE = gettext_noop("Chosen by us: the last feeds give gas that nobody burns")

_TAPER = gettext_noop(
    "Nobody is there from %(first)s on: in the days before it is fed less, today %(share)s %% of "
    "its stable feed, so that little gas is left to itself."
)


def say_taper(first_on: str, share_percent: int) -> Sentence:
    """Why the days before an absence are fed less."""
    return Sentence(_TAPER, {"first": first_on, "share": share_percent})


def level_after_absence(
    median_vs_g: int, days_away: int, loss_per_week_percent: float, least_percent: float
) -> int:
    """Grams of volatile solids a day to come back to: the stable median less
    `loss_per_week_percent` for each whole week away, never under `least_percent` of it.

    >>> level_after_absence(200, 14, 15, 25)
    140
    """
    share = max(least_percent, 100 - loss_per_week_percent * (days_away // 7)) / 100
    return int(round(median_vs_g * share, 6))
