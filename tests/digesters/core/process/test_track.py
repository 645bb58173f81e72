"""Following digesters by readings: repeatable, hard to wreck, and it learns."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.digesters.core.process.ensemble import STRENGTH
from apps.digesters.core.process.forecast import summary
from apps.digesters.core.process.fractions import HYDRATED_LIME
from apps.digesters.core.process.gas_made import GasMade
from apps.digesters.core.process.load import Portion
from apps.digesters.core.process.state_blob import pack_state, unpack_state
from apps.digesters.core.process.track import DayRecord, Tracked, adopted, seeded, track
from tests.digesters.core.process.plants import canteen

START = date(2030, 3, 1)
SIZE_M3 = 1.0


def fed_days(days: int, **changes: object) -> list[DayRecord]:
    """Rested 15 days, then 2 kg of canteen waste and 5 L of water a day at 29 C."""
    return [
        DayRecord(
            START + timedelta(days=day + 1),
            portions=canteen(2.0 if day >= 15 else 0.0),
            water_l=5.0 if day >= 15 else 0.0,
            slurry_c=29.0,
            **changes,
        )
        for day in range(days)
    ]


def follow(records, name="D-01", state=None):
    state = state or seeded(name, START)
    return track([Tracked(name, SIZE_M3, state, tuple(records))], keep_every_day=True)[0]


def with_gas(records, factor, sd_share=0.1, start=15):
    """Records whose gas is `factor` times what the unread digester foresees."""
    nights = follow(records)
    return [
        replace(
            record,
            gas=GasMade(factor * night.gas_foreseen_m3, sd_share * night.gas_foreseen_m3 + 0.005),
        )
        if day >= start
        else replace(record, looked=True)
        for day, (record, night) in enumerate(zip(records, nights, strict=True))
    ]


@pytest.fixture(scope="module")
def read_days():
    return with_gas(fed_days(50), 1.2)


def test_rerun_from_any_stored_day_gives_the_same_bytes(read_days):
    nights = follow(read_days)
    for day in (0, 20, 41):
        stored = unpack_state(pack_state(nights[day].state))
        again = follow(read_days[day + 1 :], state=stored)
        assert pack_state(again[-1].state) == pack_state(nights[-1].state)


def test_neighbours_do_not_change_a_digester(read_days):
    alone = follow(read_days)[-1].state
    states = [seeded(f"D-{k:02d}", START) for k in range(4)]
    together = track([Tracked(s.digester, SIZE_M3, s, tuple(read_days)) for s in states])
    np.testing.assert_allclose(
        together[1][-1].state.ensemble.factors, alone.ensemble.factors, rtol=1e-6
    )


def test_digesters_of_different_dates_run_side_by_side():
    early = fed_days(20)
    shift = timedelta(days=9)
    late = [replace(record, on=record.on + shift) for record in early]
    pair = [("D-11", START, early), ("D-12", START + shift, late)]
    those = [Tracked(n, SIZE_M3, seeded(n, on), tuple(days)) for n, on, days in pair]
    together = [pack_state(nights[-1].state) for nights in track(those)]
    assert together == [pack_state(track([one])[0][-1].state) for one in those]


def test_steady_readings_teach_the_strength_of_the_feed(read_days):
    before = follow(fed_days(50))[-1].state.ensemble
    after = follow(read_days)[-1].state.ensemble
    learnt = np.median(np.exp(after.factors[STRENGTH]))
    assert learnt == pytest.approx(1.2, abs=0.07)
    assert after.factors[STRENGTH].std() < 0.6 * before.factors[STRENGTH].std()


def test_one_wild_reading_does_not_wreck_it(read_days):
    wild = list(read_days)
    wild[35] = replace(wild[35], gas=GasMade(9.0, 0.05), ph=3.0)
    calm, hit = follow(read_days)[-1], follow(wild)[-1]
    assert abs(summary(hit.state.ensemble).ph.middle - summary(calm.state.ensemble).ph.middle) < 0.1
    strengths = [np.median(n.state.ensemble.factors[STRENGTH]) for n in (calm, hit)]
    assert abs(strengths[0] - strengths[1]) < 0.15


def test_wrong_reading_can_be_taken_back(read_days):
    wild = list(read_days)
    wild[35] = replace(wild[35], gas=GasMade(9.0, 0.05))
    nights = follow(wild)
    again = follow(read_days[35:], state=nights[34].state)
    assert pack_state(again[-1].state) == pack_state(follow(read_days)[-1].state)


def test_missed_week_is_one_reading_of_its_sum(read_days):
    missed = list(read_days)
    week = range(35, 42)
    total = sum(read_days[day].gas.standard_m3 for day in week)
    for day in week:
        missed[day] = replace(missed[day], gas=None)
    missed[41] = replace(missed[41], gas=GasMade(total, 0.05 * total))
    whole, gap = follow(read_days)[-1], follow(missed)[-1]
    strengths = [np.median(n.state.ensemble.factors[STRENGTH]) for n in (whole, gap)]
    assert abs(strengths[0] - strengths[1]) < 0.05
    assert abs(follow(missed)[41].gas_surprise) < 2.0


def test_a_year_without_readings_stays_finite_and_forget(read_days):
    nights = follow(read_days)
    last = nights[-1].state
    silent = [DayRecord(last.on + timedelta(days=day + 1), slurry_c=20.0) for day in range(400)]
    end = track([Tracked("D-01", SIZE_M3, last, tuple(silent))])[0][-1].state.ensemble
    assert np.isfinite(end.state).all()
    assert (end.state >= 0.0).all()
    assert end.factors[STRENGTH].std() > 1.2 * last.ensemble.factors[STRENGTH].std()


HOSTILE_DAY = st.builds(
    lambda kg, water_l, slurry_c, gas, ph: (kg, water_l, slurry_c, gas, ph),
    st.sampled_from([0.0, 0.001, 2.0, 300.0]),
    st.sampled_from([0.0, 5.0, 700.0]),
    st.sampled_from([2.0, 25.0, 45.0]),
    st.none() | st.builds(GasMade, st.sampled_from([0.0, 0.3, 80.0]), st.sampled_from([1e-6, 0.1])),
    st.sampled_from([None, 0.0, 4.0, 7.0, 14.0]),
)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.lists(HOSTILE_DAY, min_size=4, max_size=12))
def test_hostile_days_and_readings_leave_a_state_that_can_be_used(days):
    records = [
        DayRecord(START + timedelta(days=day + 1), canteen(kg), water_l, slurry_c, gas, ph=ph)
        for day, (kg, water_l, slurry_c, gas, ph) in enumerate(days)
    ]
    night = follow(records)[-1]
    end = night.state.ensemble
    assert np.isfinite(end.state).all()
    assert (end.state >= 0.0).all()
    assert np.isfinite(end.factors).all()
    assert np.isfinite(night.gas_foreseen_m3)
    assert unpack_state(pack_state(night.state)).on == records[-1].on


def test_drum_at_its_stop_teaches_only_upwards():
    plain = fed_days(40)
    foreseen = follow(plain)[-1].gas_foreseen_m3
    quiet = replace(plain[-1], gas=GasMade(0.3 * foreseen, 0.05 * foreseen, at_least=True))
    loud = replace(plain[-1], gas=GasMade(40 * 1.6 * foreseen, 0.05 * foreseen, at_least=True))
    base = follow(plain)[-1].state.ensemble.factors[STRENGTH].mean()
    low = follow([*plain[:-1], quiet])[-1].state.ensemble.factors[STRENGTH].mean()
    high = follow([*plain[:-1], loud])[-1].state.ensemble.factors[STRENGTH].mean()
    assert low == pytest.approx(base, abs=1e-6)
    assert high > base


def test_sour_strips_move_belief_towards_souring():
    plain = fed_days(40)

    def believed(strips: int, ph: float = 6.5):
        read = [*plain[: 40 - strips], *(replace(r, ph=ph) for r in plain[40 - strips :])]
        return summary(follow(read)[-1].state.ensemble)

    none, two, ten = believed(0), believed(2), believed(10)
    assert two.ph.low < none.ph.low - 0.1
    assert two.acids_g_per_l.middle > none.acids_g_per_l.middle
    assert two.activity.middle < none.activity.middle
    assert ten.ph.middle == pytest.approx(6.5, abs=0.15)
    sound = believed(2, 7.5)
    assert none.ph.middle <= sound.ph.middle <= 7.55


def test_gap_in_the_days_is_refused():
    records = fed_days(5)
    with pytest.raises(ValueError, match="every day once"):
        Tracked("D-01", SIZE_M3, seeded("D-01", START), (records[0], records[2]))


def test_digester_that_joins_running_is_neither_sour_nor_new():
    state = adopted("D-09", START, SIZE_M3, canteen(2.0), 5.0, 29.0)
    assert state.on == START
    inside = summary(state.ensemble)
    assert 6.8 < inside.ph.middle < 7.6
    assert pack_state(adopted("D-09", START, SIZE_M3, canteen(2.0), 5.0, 29.0)) == pack_state(state)


def test_lime_lifts_the_ph():
    plain = fed_days(40)
    limed = [*plain[:-1], replace(plain[-1], portions=(Portion(1.0, 0.0, HYDRATED_LIME),))]
    assert summary(follow(limed)[-1].state.ensemble).ph.middle > 0.1 + (
        summary(follow(plain)[-1].state.ensemble).ph.middle
    )
