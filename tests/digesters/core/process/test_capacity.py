"""The largest feed nine members in ten survive."""

from datetime import date, timedelta

import numpy as np
import pytest

from apps.digesters.core.process.capacity import MEMBERS_SAFE, feed_mix, largest_feed
from apps.digesters.core.process.ensemble import ACTIVITY, joined
from apps.digesters.core.process.forecast import FeedPlan, forecast
from apps.digesters.core.process.track import DayRecord, Tracked, seeded, track
from tests.digesters.core.process.plants import CANTEEN_VS, canteen

START = date(2030, 3, 1)
MIX = feed_mix(canteen(3.0), 7.0, 1.0)


@pytest.fixture(scope="module")
def running():
    """Six digesters of 1 m3, fed 2 kg a day for a month at 28 C, a sound strip a week."""
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
    names = [f"C-{k}" for k in range(6)]
    nights = track([Tracked(name, 1.0, seeded(name, START), records) for name in names])
    return joined([night[-1].state.ensemble for night in nights])


def size(ensemble, most_kg, slurry_c=28.0, base=None):
    d = ensemble.digesters
    return largest_feed(
        ensemble, [MIX] * d, np.full(d, most_kg), np.full((7, d), slurry_c), base=base
    )


def test_modest_rules_bind_first(running):
    capacity = size(running, 1.0)
    assert capacity.at_limit.all()
    np.testing.assert_array_equal(capacity.feed_kg_per_day, 1.0)
    assert capacity.model_vs_g(0) is None


def test_never_above_the_rules_and_safe_at_its_figure(running):
    capacity = size(running, 60.0)
    assert (capacity.feed_kg_per_day < 60.0).all()
    assert (capacity.feed_kg_per_day > 2.0).all()
    assert capacity.vs_g_per_day[0] == pytest.approx(
        capacity.feed_kg_per_day[0] * CANTEEN_VS * 1000.0
    )
    assert capacity.model_vs_g(0) == int(capacity.vs_g_per_day[0])
    for factor, safe in ((1.0, True), (1.1, False)):
        kg = capacity.feed_kg_per_day * factor
        plan = FeedPlan(
            np.repeat((MIX.load_per_kg[:, None] * kg)[None], 7, axis=0),
            np.repeat((MIX.dilution_per_kg * kg)[None], 7, axis=0),
            np.full((7, 6), 28.0),
        )
        lowest = forecast(running, plan, np.ones(6)).ph_lowest.min(axis=0)
        shares = (lowest >= 6.8).mean(axis=1)
        assert ((shares >= MEMBERS_SAFE) == safe).all()


def test_cold_and_weak_digesters_take_less(running):
    warm = size(running, 60.0).feed_kg_per_day
    cold = size(running, 60.0, slurry_c=18.0).feed_kg_per_day
    assert (cold < warm).all()
    weak = running.copy()
    weak.factors[ACTIVITY] -= 0.7
    assert (size(weak, 60.0).feed_kg_per_day < warm).all()


def test_what_goes_in_besides_is_taken_off(running):
    kg = 3.0
    base = FeedPlan(
        np.repeat(np.repeat((MIX.load_per_kg * kg)[None, :, None], 6, axis=2), 7, axis=0),
        np.full((7, 6), MIX.dilution_per_kg * kg),
        np.full((7, 6), 28.0),
    )
    alone, beside = size(running, 60.0), size(running, 60.0, base=base)
    np.testing.assert_allclose(beside.feed_kg_per_day, alone.feed_kg_per_day - kg, atol=60.0 / 2**6)


def test_soured_digester_gets_nothing(running):
    sour = running.copy()
    sour.state[9] *= 0.2  # strong ions: its buffer is gone
    assert (size(sour, 5.0).feed_kg_per_day == 0.0).all()


def test_feed_to_be_sized_needs_waste():
    with pytest.raises(ValueError, match="at least one portion"):
        feed_mix((), 5.0, 1.0)
