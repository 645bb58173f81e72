"""The charge balance closes, and its answer is the reference's."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.digesters.core.process.chemistry import charge_excess, equilibria_at, solve_hydrogen
from apps.digesters.core.process.parameters import default_parameters

P = default_parameters()


@settings(max_examples=60, deadline=None)
@given(
    guess=st.floats(1.0, 13.0),
    nitrogen=st.floats(0.0, 2.0),
    carbon=st.floats(0.0, 2.0),
    acids=st.floats(0.0, 3.0),
    strong=st.floats(0.0, 1.0),
    slurry_c=st.floats(2.0, 60.0),
)
def test_charge_closes_from_any_guess(guess, nitrogen, carbon, acids, strong, slurry_c):
    k = equilibria_at(np.array([slurry_c]), P)
    rows = [np.array([x]) for x in (nitrogen, carbon, acids, strong)]
    hydrogen = solve_hydrogen(np.array([10.0**-guess]), *rows, k)
    excess = charge_excess(hydrogen, *rows, k)
    scale = strong + nitrogen + acids + carbon + hydrogen + k.water / hydrogen
    assert np.isfinite(hydrogen).all()
    assert np.abs(excess) <= 1e-9 * scale


def test_neutral_water_is_ph_7_at_25_c():
    k = equilibria_at(np.array([25.0]), P)
    nothing = np.zeros(1)
    hydrogen = solve_hydrogen(np.array([1e-5]), nothing, nothing, nothing, nothing, k)
    assert -np.log10(hydrogen[0]) == pytest.approx(7.0, abs=1e-6)  # pKw 14 at 25 C


def test_ph_of_the_published_steady_state():
    # tests/data/adm1/bsm2_steady_state.csv: the BSM2 stand-alone ADM1 prints pH 7.46553777 for
    # these: S_cat 0.04, S_an 0.02, S_IN, S_IC, and its acids as they charge there.
    k = equilibria_at(np.array([35.0]), P)
    ions = 0.01159624707 / 208 + 0.01322082625 / 160 + 0.01574278319 / 112 + 0.1972411554 / 64
    hydrogen = solve_hydrogen(
        np.array([1e-7]),
        np.array([0.1302298158]),
        np.array([0.1526778706]),
        np.array([ions * (1 + 10**-7.46553777 / k.acid)]),
        np.array([0.02]),
        k,
    )
    assert -np.log10(hydrogen[0]) == pytest.approx(7.46553777, abs=1e-5)
