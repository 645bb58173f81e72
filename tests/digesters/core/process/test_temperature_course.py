"""Slurry temperature day by day."""

from datetime import date

import pytest

from apps.digesters.core.process.temperature_course import slurry_course_c
from apps.digesters.core.slurry_temperature import SlurryReading

STEADY = [25.0] * 12
SEASONS = [15.0, 16, 18, 21, 24, 27, 29, 28, 26, 22, 18, 16]


def test_steady_air_gives_steady_slurry():
    course = slurry_course_c(STEADY, date(2030, 4, 1), 10, 10.0)
    assert course == pytest.approx([25.0] * 10)


def test_thermometer_shifts_and_the_shift_fades():
    # First-order lag: a shift of 4 K is 4/e K after one lag (algebra).
    reading = SlurryReading(date(2030, 4, 1), 29.0)
    course = slurry_course_c(STEADY, date(2030, 4, 1), 11, 10.0, [reading])
    assert course[0] == pytest.approx(29.0)
    assert course[10] == pytest.approx(25.0 + 4.0 / 2.718281828)


def test_later_reading_does_not_change_earlier_days():
    late = SlurryReading(date(2030, 4, 6), 20.0)
    plain = slurry_course_c(SEASONS, date(2030, 4, 1), 10, 10.0)
    read = slurry_course_c(SEASONS, date(2030, 4, 1), 10, 10.0, [late])
    assert read[:5] == plain[:5]
    assert read[5] == pytest.approx(20.0)
