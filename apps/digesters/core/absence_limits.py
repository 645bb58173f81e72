"""Before and after days on which nobody is at a digester: taper, and come back to a stable level.

The last feed goes on giving gas for days, and nobody will burn it; so the days before are fed
less. After a week or more without feed the bacteria are fewer: what it took before comes back
less a share for each idle week. All shares but those of the rules are ours, assumed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from types import MappingProxyType

from apps.digesters.core.loading import (
    STABLE_FROM_DAYS,
    FedDay,
    proved_mean_vs_g,
    stable_median_vs_g,
)
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


def level_vs_g(
    fed: Sequence[FedDay],
    on: date,
    away: tuple[date, date] | None,
    loss_per_week_percent: float,
    least_percent: float,
) -> int | None:
    """What a digester is used to on `on` [g VS a day]: its proved mean, or, when nobody was there
    to feed it in the days that mean looks at, the level that it comes back to. `away`: first and
    last day of the last such absence. None where the records tell nothing."""
    mean_g = proved_mean_vs_g(fed, on, loss_per_week_percent)
    median_g = stable_median_vs_g(fed, on)
    if away is None or median_g is None:
        return mean_g
    first_on, last_on = away
    if not on - timedelta(days=STABLE_FROM_DAYS) <= last_on < on:
        return mean_g
    level_g = level_after_absence(
        median_g, (last_on - first_on).days + 1, loss_per_week_percent, least_percent
    )
    return max(mean_g or 0, level_g)
