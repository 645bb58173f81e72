"""When foreign matter among a stream's waste calls for a word, and when for a pause. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum

LOOK_BACK_DAYS = 14
WARN_AT = 2
"""Finds within the days at which the source is told how to sort. Ours."""
PAUSE_AT = 4
"""Finds within the days at which a pause is proposed. Ours."""


class Advice(StrEnum):
    """What the finds call for."""

    NOTHING = "nothing"
    WARN = "warn"
    PAUSE = "pause"


def advise(found_on: Sequence[date], on: date) -> Advice:
    """By the number of days with a find within the fortnight that ends with `on`."""
    since = on - timedelta(days=LOOK_BACK_DAYS)
    days = len({day for day in found_on if since < day <= on})
    if days >= PAUSE_AT:
        return Advice.PAUSE
    return Advice.WARN if days >= WARN_AT else Advice.NOTHING
