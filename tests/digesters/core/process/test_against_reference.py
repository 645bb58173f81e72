"""The model beside the reference ADM1: stored trajectories, and the published BSM2 steady state."""

import csv

import numpy as np
import pytest
from bsm2_python.bsm2.adm1_bsm2 import adm1equations
from bsm2_python.bsm2.init.adm1init_bsm2 import DIGESTERPAR

from apps.digesters.core.process import state as rows
from apps.digesters.core.process.parameters import default_parameters
from apps.digesters.core.process.simulate import DailyInputs, simulate
from apps.digesters.core.process.state import seeded_state
from tests.benchmarks.digestion_reference import AT, gas_flow, ph_of
from tests.benchmarks.digestion_trajectories import (
    STORED,
    gas_errors,
    ours,
    souring_day,
    stored_trajectory,
)

# Stored runs made with bsm2-python 0.0.16; tests/data/adm1/README.md says how.
TRAJECTORIES = [stored_trajectory(path) for path in sorted(STORED.glob("s*.csv"))]


@pytest.fixture(scope="module")
def modelled():
    """All stored trajectories through our model at once: name to (pH, gas)."""
    results, gas = ours(TRAJECTORIES)
    return {one.name: (results.ph[:, k], gas[:, k]) for k, one in enumerate(TRAJECTORIES)}


@pytest.mark.parametrize("one", TRAJECTORIES, ids=[t.name for t in TRAJECTORIES])
def test_stored_trajectory(one, modelled):
    ph, gas = modelled[one.name]
    daily, weekly = gas_errors(one.gas_nm3, gas, one.ph)
    # Bars asked for: 10 % by day, 8 % by week; souring within 3 days, none invented.
    assert np.median(daily) <= 0.10
    assert np.median(weekly) <= 0.08
    truth, model = souring_day(one.ph), souring_day(ph)
    assert (truth is None) == (model is None)
    if truth is not None and model is not None:
        assert abs(model - truth) <= 3
    sound = one.ph > 6.8
    assert np.median(np.abs(ph - one.ph)[sound]) <= 0.05


@pytest.fixture(scope="module")
def bsm2() -> dict[str, dict[str, float]]:
    lines = (STORED / "bsm2_steady_state.csv").read_text().splitlines()
    table = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {
        column: {row["name"]: float(row[column]) for row in table}
        for column in ("influent", "steady_state")
    }


DILUTION = 170.0 / 3400.0  # BSM2: 170 m3/d through 3400 m3


def test_reference_library_rests_at_the_published_steady_state(bsm2):
    state = np.zeros(42)
    for name, value in bsm2["steady_state"].items():
        if name in AT:
            state[AT[name]] = value
    influent = np.zeros(42)
    for name, value in bsm2["influent"].items():
        if name in AT and np.isfinite(value):
            influent[AT[name]] = value
    influent[AT["Q"]] = 170.0
    rates = adm1equations(
        np.zeros(2), state, influent, DIGESTERPAR, 308.15, np.array([3400.0, 300.0])
    )
    assert np.abs(rates[:26]).max() < 1e-5
    assert ph_of(state, 35.0) == pytest.approx(7.46553777, abs=2e-5)
    flow, _ = gas_flow(state, 35.0, 5e4)
    # Published as volume at 35 C; ours is rescaled by 273.15/T.
    assert flow * 308.15 / 273.15 == pytest.approx(2955.703454, rel=1e-6)


def test_our_mapping_of_the_bsm2_feed_gives_its_gas_and_ph(bsm2):
    feed = bsm2["influent"]
    load = np.zeros(rows.LOAD_ROWS)
    load[rows.FAST] = feed["S_su"] + feed["S_aa"] + feed["S_fa"]
    load[rows.SLOW] = feed["X_ch"] + feed["X_pr"] + feed["X_li"]
    load[rows.FIBRE] = feed["X_xc"]
    load[rows.INERT] = feed["X_I"] + feed["S_I"]
    load[rows.ACIDS] = feed["S_va"] + feed["S_bu"] + feed["S_pro"] + feed["S_ac"]
    load[rows.ACIDOGENS] = load[rows.METHANOGENS] = 0.03
    load[rows.NITROGEN], load[rows.CARBON] = feed["S_IN"], feed["S_IC"]
    load[rows.STRONG_IONS] = feed["S_cat"] - feed["S_an"]
    load[rows.FAST_N] = 0.007 * feed["S_aa"]
    load[rows.SLOW_N] = 0.007 * feed["X_pr"]
    load[rows.FAST_C] = 0.0313 * feed["S_su"] + 0.03 * feed["S_aa"] + 0.0217 * feed["S_fa"]
    load[rows.SLOW_C] = 0.0313 * feed["X_ch"] + 0.03 * feed["X_pr"] + 0.022 * feed["X_li"]
    days = 200
    results = simulate(
        seeded_state((1,)),
        DailyInputs(
            np.repeat((load * DILUTION)[None, :, None], days, axis=0),
            np.full((days, 1), DILUTION),
            np.full((days, 1), 35.0),
        ),
        # BSM2 dissolves solids at 10 per day where household waste takes our k_slow.
        hydrolysis=10.0 / default_parameters().k_slow,
    )
    methane, carbon_dioxide = results.methane[-1, 0], results.carbon_dioxide[-1, 0]
    vapour = 0.0313 * np.exp(5290.0 * (1 / 298.15 - 1 / 308.15))
    gas = (methane + carbon_dioxide) * 3400.0 * 0.083145 * 308.15 / (1.013 - vapour)
    published = bsm2["steady_state"]
    # Stated tolerance: gas 5 %, methane share 0.02, pH 0.05.
    assert gas == pytest.approx(published["q_gas_m3_d_at_1.013bar_35C_wet"], rel=0.05)
    assert methane / (methane + carbon_dioxide) == pytest.approx(
        published["ch4_frac_dry"], abs=0.02
    )
    assert results.ph[-1, 0] == pytest.approx(published["pH"], abs=0.05)
