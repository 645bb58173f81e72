"""Gas between two looks, also where evenings were not written down."""

from datetime import date, timedelta

import pytest

from apps.digesters.core.process.holder import GasInHolder
from apps.digesters.core.process.look_record import Look, gas_between

START = date(2030, 3, 1)
ROOM_M3 = 2.0


def look(day: int, held_m3: float) -> Look:
    return Look(START + timedelta(days=day), GasInHolder(held_m3, 0.01, False))


def burnt(**by_day: float) -> dict[date, float]:
    return {START + timedelta(days=int(day[1:])): each for day, each in by_day.items()}


WRITTEN = burnt(d0=0.20, d1=0.24, d2=0.16, d3=0.20)


def test_written_evenings_are_taken_at_their_word():
    made = gas_between(look(3, 0.3), look(4, 0.4), WRITTEN, {}, ROOM_M3)
    assert made is not None
    assert made.standard_m3 == pytest.approx(0.1 + 0.20)
    assert not made.at_least


def test_an_unwritten_evening_is_a_usual_one_and_not_none():
    made = gas_between(look(4, 0.3), look(5, 0.4), WRITTEN, {}, ROOM_M3)
    assert made is not None
    assert made.standard_m3 == pytest.approx(0.1 + 0.20)
    written = gas_between(look(3, 0.3), look(4, 0.4), WRITTEN, {}, ROOM_M3)
    assert written is not None
    assert made.sd_m3 > 3 * written.sd_m3
    assert not made.at_least


def test_doubt_grows_with_the_evenings_that_nobody_wrote_down():
    one = gas_between(look(3, 0.3), look(5, 0.4), WRITTEN, {}, ROOM_M3)
    three = gas_between(look(3, 0.3), look(7, 0.4), WRITTEN, {}, ROOM_M3)
    assert one is not None
    assert three is not None
    assert three.sd_m3 > 2 * one.sd_m3


def test_without_a_usual_evening_it_is_the_least_that_was_made():
    made = gas_between(look(4, 0.3), look(5, 0.4), burnt(d0=0.2), {}, ROOM_M3)
    assert made is not None
    assert made.standard_m3 == pytest.approx(0.1)
    assert made.at_least


def test_later_evenings_teach_nothing_about_earlier_ones():
    later = burnt(d6=0.2, d7=0.2, d8=0.2)
    made = gas_between(look(4, 0.3), look(5, 0.4), later, {}, ROOM_M3)
    assert made is not None
    assert made.at_least


def test_a_balance_over_more_than_a_fortnight_tells_nothing():
    assert gas_between(look(0, 0.3), look(15, 0.4), WRITTEN, {}, ROOM_M3) is None
    assert gas_between(None, look(1, 0.4), WRITTEN, {}, ROOM_M3) is None
