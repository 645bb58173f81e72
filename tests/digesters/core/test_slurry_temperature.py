"""Slurry follows the air late and damped."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digesters.core.slurry_temperature import (
    AIR_DEPARTURE_K,
    AIR_MEMORY_DAYS,
    DOUBT,
    LAG_DAYS,
    AirDay,
    SlurryReading,
    air_days,
    coldest_expected_c,
    expect_slurry_c,
)
from apps.kernel.figures import FigureError

# An invented town with a mild winter, monthly means, January first.
TOWN = (9.0, 10.0, 13.0, 16.0, 20.0, 24.0, 27.0, 27.0, 23.0, 18.0, 13.0, 10.0)
DATES = st.dates(date(2029, 1, 1), date(2032, 12, 31))
LAGS = st.sampled_from(sorted(LAG_DAYS.values()))


def test_constant_air_makes_constant_slurry() -> None:
    assert expect_slurry_c([26.0] * 12, date(2030, 2, 3), 30) == pytest.approx(26.0)


def test_slurry_lags_behind_the_air() -> None:
    """A straight rise of the air by r a day is followed r x lag behind (first-order lag)."""
    # Between mid-March and mid-June TOWN rises about 3.5 K a month of 30.4 days.
    lag = expect_slurry_c(TOWN, date(2030, 6, 5), 5) - expect_slurry_c(TOWN, date(2030, 6, 5), 10)
    assert lag == pytest.approx(5 * 4.0 / 30.44, rel=0.05)


def test_a_reading_shifts_and_fades() -> None:
    on = date(2030, 7, 1)
    plain = expect_slurry_c(TOWN, on, 10)
    reading = SlurryReading(on, plain - 4)
    assert expect_slurry_c(TOWN, on, 10, reading) == pytest.approx(plain - 4)
    later = on + timedelta(days=10)
    fallen = expect_slurry_c(TOWN, later, 10) - expect_slurry_c(TOWN, later, 10, reading)
    assert fallen == pytest.approx(4 / 2.718281828, rel=1e-6)
    future = SlurryReading(on + timedelta(days=1), 40)
    assert expect_slurry_c(TOWN, on, 10, future) == plain


def test_coldest_of_the_week_ahead() -> None:
    on = date(2030, 10, 10)  # autumn: the last day is the coldest
    last = expect_slurry_c(TOWN, on + timedelta(days=6), 10)
    # A first-order lag of L days behind air with standard deviation s and memory t has, once
    # settled, s sqrt(t / (t + L)) (continuous time; algebra).
    settled_k = AIR_DEPARTURE_K * (AIR_MEMORY_DAYS / (AIR_MEMORY_DAYS + 10)) ** 0.5
    assert coldest_expected_c(TOWN, on, 10) == pytest.approx(last - DOUBT * settled_k, abs=0.03)


def test_few_weeks_are_colder_than_was_reckoned_with() -> None:
    """Against drawn weather: air as a first-order autoregression, slurry behind it."""
    draw = np.random.default_rng(4)
    fades, keeps = np.exp(-1 / AIR_MEMORY_DAYS), np.exp(-1 / 10)
    colder = dict.fromkeys(("none", "slurry", "both"), 0)
    weeks = 400
    for _ in range(weeks):
        above = np.empty(70)
        above[0] = draw.normal(0, AIR_DEPARTURE_K)
        shocks = draw.normal(0, AIR_DEPARTURE_K * (1 - fades**2) ** 0.5, 70)
        for day in range(1, 70):
            above[day] = fades * above[day - 1] + shocks[day]
        slurry, course = 0.0, []
        for each in above:
            slurry = keeps * slurry + (1 - keeps) * each
            course.append(25.0 + slurry)
        on = FIRST + timedelta(days=62)
        air = [AirDay(FIRST + timedelta(days=day), float(above[day])) for day in range(62)]
        read = SlurryReading(FIRST + timedelta(days=58), course[58])
        for name, given_read, given_air in (
            ("none", None, []), ("slurry", read, []), ("both", read, air)
        ):  # fmt: skip
            reckoned = coldest_expected_c(STEADY, on, 10, given_read, 7, given_air)
            colder[name] += min(course[62:69]) < reckoned
    # One in five of any one day; the coldest of a week is a little likelier to be.
    assert all(0.12 < count / weeks < 0.32 for count in colder.values())


STEADY = (25.0,) * 12
FIRST = date(2030, 6, 1)


def test_a_cold_spell_in_the_air_is_followed_by_the_lag() -> None:
    """A step of a first-order lag: 1 - 1/e of it after one lag, nearly all after five (algebra)."""
    cold = [AirDay(FIRST + timedelta(days=day), -8.0) for day in range(60)]
    after = {
        lags: expect_slurry_c(STEADY, FIRST + timedelta(days=10 * lags - 1), 10, air=cold)
        for lags in (1, 5)
    }
    assert after[1] == pytest.approx(25.0 - 8.0 * (1 - 1 / 2.718281828))
    assert after[5] == pytest.approx(17.0, abs=0.06)
    assert expect_slurry_c(STEADY, FIRST - timedelta(days=1), 10, air=cold) == pytest.approx(25.0)


def test_between_readings_unusual_air_fades_as_if_it_were_read_fading() -> None:
    read_once = [AirDay(FIRST, -8.0)]
    fading = [
        AirDay(FIRST + timedelta(days=day), -8.0 * 2.718281828459 ** (-day / AIR_MEMORY_DAYS))
        for day in range(20)
    ]
    on = FIRST + timedelta(days=19)
    assert expect_slurry_c(STEADY, on, 10, air=read_once) == pytest.approx(
        expect_slurry_c(STEADY, on, 10, air=fading)
    )


def test_the_slurry_thermometer_has_the_last_word_over_the_airs() -> None:
    cold = [AirDay(FIRST + timedelta(days=day), -8.0) for day in range(10)]
    on = cold[-1].on
    read = SlurryReading(on, 24.0)
    assert expect_slurry_c(STEADY, on, 10, read, cold) == pytest.approx(24.0)
    colder = coldest_expected_c(STEADY, on, 10, read, 7, cold)
    assert colder < coldest_expected_c(STEADY, on, 10, read, 7) < 24.0


def test_one_warm_noon_says_nothing_of_a_day_but_a_cold_one_does() -> None:
    noon, frost = (FIRST, 34.0), (FIRST + timedelta(days=1), 12.0)
    both = [(FIRST + timedelta(days=2), 16.0), (FIRST + timedelta(days=2), 30.0)]
    assert air_days(STEADY, [noon, frost, *both]) == (
        AirDay(frost[0], -13.0),
        AirDay(both[0][0], -2.0),
    )


@given(DATES, LAGS)
def test_slurry_stays_within_the_years_air(on: date, lag_days: float) -> None:
    assert min(TOWN) <= expect_slurry_c(TOWN, on, lag_days) <= max(TOWN)
    assert coldest_expected_c(TOWN, on, lag_days) <= expect_slurry_c(TOWN, on, lag_days)


@pytest.mark.parametrize("normals", [[20.0] * 11, [20.0] * 11 + [float("nan")], [99.0] * 12])
def test_impossible_normals_are_refused(normals: list[float]) -> None:
    with pytest.raises(FigureError):
        expect_slurry_c(normals, date(2030, 1, 1), 10)
