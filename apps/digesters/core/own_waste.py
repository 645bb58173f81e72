"""How much of its own kitchen waste a home will have on a day, from what it wrote down.

What the household said of a usual day is where it starts; days that it wrote down move it, and the
day of the week counts the more the oftener that weekday was seen. Both by shrinking a mean towards
what was believed before, as a Bayesian with a normal prior would.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

LOOK_BACK_DAYS = 56
"""Eight of each weekday: habits change with the season. Assumed."""

LEAST_DAYS = 7
"""Before so many days with own waste written apart, what was said stands. Assumed."""

SAID_COUNTS_DAYS = 7
"""What was said weighs as much as so many days written down. Assumed."""

MEAN_COUNTS_WEEKDAYS = 3
"""The mean of all days weighs as much as so many of one weekday. Assumed."""


@dataclass(frozen=True)
class OwnWasteExpected:
    """Grams by material of one day; `days` written down it comes from, 0 where only said."""

    amounts_g: Mapping[str, int]
    days: int


def expect_own_waste(
    said_g: Mapping[str, int],
    written_g: Mapping[date, Mapping[str, int]],
    fed_on: Collection[date],
    on: date,
    known_to: date,
) -> OwnWasteExpected:
    """Own waste on ``on`` from days up to ``known_to``.

    ``written_g`` has the own waste fed by day and material, ``fed_on`` the days on which any
    feeding was written down: such a day without own waste had none, any other day is not known.
    """
    first = known_to - timedelta(days=LOOK_BACK_DAYS - 1)
    known = [day for day in fed_on if first <= day <= known_to]
    with_own = [day for day in known if any(g > 0 for g in written_g.get(day, {}).values())]
    if len(with_own) < LEAST_DAYS:
        return OwnWasteExpected({code: g for code, g in sorted(said_g.items()) if g > 0}, 0)
    alike = [day for day in known if day.weekday() == on.weekday()]
    codes = set(said_g) | {code for day in with_own for code in written_g[day]}
    amounts_g = {}
    for code in sorted(codes):
        mean_g = _shrunk(_grams(written_g, known, code), said_g.get(code, 0), SAID_COUNTS_DAYS)
        amount_g = round(_shrunk(_grams(written_g, alike, code), mean_g, MEAN_COUNTS_WEEKDAYS))
        if amount_g > 0:
            amounts_g[code] = amount_g
    return OwnWasteExpected(amounts_g, len(known))


def _grams(
    written_g: Mapping[date, Mapping[str, int]], days: Collection[date], code: str
) -> list[int]:
    return [max(0, written_g.get(day, {}).get(code, 0)) for day in days]


def _shrunk(seen: list[int], before: float, counts: int) -> float:
    return (sum(seen) + counts * before) / (len(seen) + counts)
