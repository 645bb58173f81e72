"""Own kitchen waste foreseen from what a home wrote down. Expected figures by hand."""

from datetime import date, timedelta

import pytest

from apps.digesters.core.own_waste import expect_own_waste

MONDAY = date(2030, 3, 4)
SAID = {"household_kitchen": 500}


def weeks(weekday_g: list[int], count: int = 4) -> dict[date, dict[str, int]]:
    """So many grams on each weekday, Monday first, in the weeks before MONDAY."""
    first = MONDAY - timedelta(weeks=count)
    return {
        first + timedelta(days=day): {"household_kitchen": weekday_g[day % 7]}
        for day in range(7 * count)
    }


def expected(written: dict[date, dict[str, int]], on: date = MONDAY, said=SAID):
    return expect_own_waste(said, written, set(written), on, MONDAY - timedelta(days=1))


def test_what_was_said_stands_until_a_week_was_written() -> None:
    few = dict(list(weeks([900] * 7).items())[-6:])
    assert expected(few).amounts_g == SAID
    assert expected(few).days == 0


def test_what_is_written_as_said_changes_nothing() -> None:
    assert expected(weeks([500] * 7)).amounts_g == SAID


def test_days_written_move_what_was_said() -> None:
    # 28 days of 900 g and what was said as 7 days of 500 g: 820 g; weekdays are all alike.
    own = expected(weeks([900] * 7))
    mean_g = (28 * 900 + 7 * 500) / 35
    assert own.amounts_g["household_kitchen"] == round((4 * 900 + 3 * mean_g) / 7)
    assert own.days == 28


def test_a_weekday_has_its_own_amount() -> None:
    written = weeks([200, 200, 200, 200, 200, 1200, 1200], 8)
    weekend = expected(written, MONDAY + timedelta(days=5)).amounts_g["household_kitchen"]
    monday = expected(written).amounts_g["household_kitchen"]
    assert monday < 330
    assert weekend > 950


def test_a_fed_day_without_own_waste_had_none_and_an_unwritten_day_is_not_known() -> None:
    written = weeks([600] * 7)
    gone = {day: own for day, own in written.items() if day.weekday() != 6}
    not_known = expect_own_waste(SAID, gone, set(gone), MONDAY, MONDAY - timedelta(days=1))
    had_none = expect_own_waste(SAID, gone, set(written), MONDAY, MONDAY - timedelta(days=1))
    assert had_none.amounts_g["household_kitchen"] < not_known.amounts_g["household_kitchen"]


def test_days_to_come_and_long_gone_teach_nothing() -> None:
    written = weeks([600] * 7)
    later = {day + timedelta(weeks=30): own for day, own in weeks([9000] * 7).items()}
    assert expected({**written, **later}) == expected(written)


@pytest.mark.parametrize("said", [{}, {"coffee_grounds": 0}])
def test_a_home_that_said_nothing_is_known_by_what_it_wrote(said: dict[str, int]) -> None:
    assert expected(weeks([700] * 7), said=said).amounts_g["household_kitchen"] > 500
