"""Trying another plan on one digester."""

from datetime import date, timedelta
from time import perf_counter

import numpy as np
import pytest

from apps.digesters.core.process.forecast import forecast
from apps.digesters.core.process.track import DayRecord, Tracked, seeded, track
from apps.digesters.core.process.what_if import PlannedDay, feed_plan, what_if
from tests.digesters.core.process.plants import canteen

START = date(2030, 3, 1)


@pytest.fixture(scope="module")
def running():
    records = tuple(
        DayRecord(
            START + timedelta(days=d + 1),
            canteen(2.0 if d >= 15 else 0.0),
            5.0 if d >= 15 else 0.0,
            28.0,
            ph=7.25 if d % 7 == 6 else None,
        )
        for d in range(45)
    )
    return track([Tracked("W-1", 1.0, seeded("W-1", START), records)])[0][-1].state.ensemble


def week(kg: float, slurry_c: float = 28.0) -> list[PlannedDay]:
    return [PlannedDay(canteen(kg), 2.4 * kg, slurry_c)] * 7


def test_more_feed_gives_more_gas_and_more_risk(running):
    usual, more, flood = (what_if(running, 1.0, week(kg)) for kg in (2.0, 5.0, 40.0))
    assert usual.gas_m3.middle < more.gas_m3.middle
    assert usual.souring_probability <= more.souring_probability < flood.souring_probability
    assert flood.ph_lowest.middle < usual.ph_lowest.middle
    assert len(usual.gas_by_day_m3) == 7
    band = usual.gas_m3
    assert band.low < band.middle < band.high


def test_bands_of_a_week_are_the_members_drawn_together_and_of_a_day_as_they_come(running):
    volumes = np.array([1.0])
    seven = forecast(running, feed_plan(week(2.0), 1.0), volumes)
    members = np.quantile(seven.gas_m3[:, 0].sum(axis=0), (0.1, 0.5, 0.9))
    band = seven.total_gas_band(0)
    assert band.middle == pytest.approx(members[1])
    assert members[0] < band.low < band.middle < band.high < members[2]
    one = forecast(running, feed_plan(week(2.0)[:1], 1.0), volumes)
    assert one.total_gas_band(0) == one.gas_band(0, 0)


def test_cold_week_gives_less_gas(running):
    warm, cold = what_if(running, 1.0, week(2.0)), what_if(running, 1.0, week(2.0, 17.0))
    assert cold.gas_m3.middle < warm.gas_m3.middle


def test_answers_within_a_second(running):
    before = perf_counter()
    what_if(running, 1.0, week(5.0))
    assert perf_counter() - before < 1.0


def test_flood_sours_within_days_and_the_usual_week_never(running):
    volumes = np.array([1.0])
    flood = forecast(running, feed_plan(week(60.0), 1.0), volumes)
    usual = forecast(running, feed_plan(week(2.0), 1.0), volumes)
    assert 1 <= flood.souring_in_days(0) <= 7
    assert usual.souring_in_days(0) is None
