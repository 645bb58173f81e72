"""Holidays, market closing days, festivals."""

from datetime import date

import pytest

from apps.kernel.figures import FigureError
from apps.supply.core.day_effects import DayEffect, percent_on, unusual_days


def test_a_festival_on_a_leap_day_is_kept_on_the_28th() -> None:
    """2028 and 2032 have a 29 February, 2029 has none (Gregorian calendar)."""
    festival = DayEffect(date(2028, 2, 29), date(2028, 2, 29), 200, is_yearly=True)
    assert festival.falls_on(date(2029, 2, 28))
    assert not festival.falls_on(date(2029, 3, 1))
    assert festival.falls_on(date(2032, 2, 29))
    assert not festival.falls_on(date(2032, 2, 28))


def test_a_yearly_one_may_pass_new_year() -> None:
    holidays = DayEffect(date(2029, 12, 30), date(2030, 1, 2), is_yearly=True)
    assert all(holidays.falls_on(on) for on in (date(2031, 1, 2), date(2031, 12, 30)))
    assert not holidays.falls_on(date(2031, 1, 3))
    once = DayEffect(date(2029, 12, 30), date(2030, 1, 2))
    assert not once.falls_on(date(2031, 1, 2))


def test_shut_wins_and_kinds_are_apart() -> None:
    on = date(2030, 6, 24)
    effects = [
        DayEffect(on, on, 0, frozenset({"canteen"})),
        DayEffect(on, on, 200),
        DayEffect(on, on, 150, frozenset({"stall"})),
    ]
    assert percent_on(effects, "canteen", on) == 0
    assert percent_on(effects, "stall", on) == 200
    assert unusual_days(effects, "garden", [on, date(2030, 6, 25)]) == {on: 200}


def test_impossible_ones_are_refused() -> None:
    with pytest.raises(FigureError, match="last day"):
        DayEffect(date(2030, 2, 2), date(2030, 2, 1))
    with pytest.raises(FigureError, match="percent"):
        DayEffect(date(2030, 2, 2), date(2030, 2, 2), 5_000)
