"""Nothing is made or lost, whatever is fed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.digesters.core.process import state as rows
from apps.digesters.core.process.chemistry import charge_excess
from apps.digesters.core.process.conditions import (
    conditions_for,
)
from apps.digesters.core.process.fractions import published_fractions
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.parameters import default_parameters
from apps.digesters.core.process.step import advance
from apps.digesters.core.process.stoichiometry import acid_anions

P = default_parameters()
CELLS = [rows.ACIDOGENS, rows.FAT_EATERS, rows.METHANOGENS]
LEFTOVERS = [rows.FIBRE, rows.INERT]
COD = [rows.FAST, rows.SLOW, *LEFTOVERS, *CELLS, rows.ACIDS, rows.HIGHER_ACIDS, rows.LONG_ACIDS]


def cod_of(x):
    return x[COD].sum(axis=0)


def nitrogen_of(x):
    bound = (
        P.n_biomass * x[CELLS].sum(axis=0) + P.n_fibre * x[rows.FIBRE] + P.n_inert * x[rows.INERT]
    )
    return x[rows.NITROGEN] + x[rows.FAST_N] + x[rows.SLOW_N] + bound


def carbon_of(x):
    bound = (
        P.c_biomass * x[CELLS].sum(axis=0) + P.c_fibre * x[rows.FIBRE] + P.c_inert * x[rows.INERT]
    )
    return (
        x[rows.CARBON]
        + x[rows.FAST_C]
        + x[rows.SLOW_C]
        + bound
        + P.c_acid * x[rows.ACIDS]
        + P.c_higher_acid * x[rows.HIGHER_ACIDS]
        + P.c_long_acid * x[rows.LONG_ACIDS]
    )


def run_with_books(loads, dilution, slurry_c, activity, steps_per_day):
    """Daily arrays (days, ..., n); returns the end state and the relative gap of each balance."""
    days, n = dilution.shape
    x = rows.seeded_state((n,))
    books = {name: f(x).copy() for name, f in BALANCES.items()}
    turned = {name: value.copy() for name, value in books.items()}
    worst_charge = 0.0
    for day in range(days):
        conditions = conditions_for(
            loads[day], dilution[day], slurry_c[day], activity, 1.0, steps_per_day, P
        )
        for _ in range(steps_per_day):
            methane, carbon_dioxide = advance(x, conditions, P)
            left = x[: rows.LOAD_ROWS].copy()
            left[rows.CARBON] += carbon_dioxide  # it left as gas after the flow had taken its part
            out = left * (dilution[day] / steps_per_day)
            gas = {
                "cod": methane * 64.0,
                "nitrogen": 0.0,
                "carbon": methane + carbon_dioxide,
                "charge": 0.0,
            }
            for name, f in BALANCES.items():
                came = f(conditions.inflow)
                books[name] += came - f(out) - gas[name]
                turned[name] += np.abs(came)
            assert (x >= 0.0).all()
            assert np.isfinite(x).all()
        k = conditions.equilibria
        ions = acid_anions(x, P)
        excess = charge_excess(
            x[rows.HYDROGEN_ION], x[rows.NITROGEN], x[rows.CARBON], ions, x[rows.STRONG_IONS], k
        )
        scale = x[rows.STRONG_IONS] + x[rows.NITROGEN] + ions + x[rows.CARBON] + 1e-12
        worst_charge = max(worst_charge, float(np.max(np.abs(excess) / scale)))
    gaps = {
        name: float(np.max(np.abs(f(x) - books[name]) / (turned[name] + 1e-12)))
        for name, f in BALANCES.items()
    }
    gaps["electroneutrality"] = worst_charge
    return x, gaps


BALANCES = {
    "cod": cod_of,
    "nitrogen": nitrogen_of,
    "carbon": carbon_of,
    "charge": lambda x: x[rows.STRONG_IONS],
}


def test_books_close_over_120_days_of_500_digesters():
    rng = np.random.default_rng(7)
    days, n = 120, 500
    table = list(published_fractions().values())
    loads = np.empty((days, rows.LOAD_ROWS, n))
    dilution = np.empty((days, n))
    for plant in range(n):
        kg = float(rng.uniform(0.0, 8.0))
        portions = [
            Portion(kg, 0.2, table[rng.integers(len(table))]),
            Portion(0.3 * kg, 0.15, table[rng.integers(len(table))]),
        ]
        load, thin = load_of(portions, 2.0 * kg, 1.0)
        meals = rng.uniform(0.0, 2.0, days)
        loads[:, :, plant] = meals[:, None] * load
        dilution[:, plant] = meals * thin
    slurry_c = np.clip(25.0 + rng.normal(0.0, 5.0, (days, n)), 2.0, 45.0)
    activity = np.exp(rng.normal(-0.5, 0.5, n))
    # Four steps a day: the balances are the scheme's own and hold at any step.
    _, gaps = run_with_books(loads, dilution, slurry_c, activity, 4)
    assert max(gaps.values()) <= 1e-9, gaps


@settings(max_examples=25, deadline=None)
@given(
    material=st.sampled_from(sorted(published_fractions())),
    feed_kg=st.sampled_from([0.0, 0.001, 3.0, 30.0, 300.0]),
    water_l=st.sampled_from([0.0, 7.0, 700.0]),
    slurry_c=st.sampled_from([2.0, 15.0, 30.0, 45.0]),
    activity=st.sampled_from([0.05, 1.0, 2.0]),
    steps=st.sampled_from([1, 4, 24]),
)
def test_hostile_feeds_stay_finite_positive_and_balanced(
    material, feed_kg, water_l, slurry_c, activity, steps
):
    load, thin = load_of([Portion(feed_kg, 0.9, published_fractions()[material])], water_l, 1.0)
    days = 20
    _, gaps = run_with_books(
        np.repeat(load[None, :, None], days, axis=0),
        np.full((days, 1), thin),
        np.full((days, 1), slurry_c),
        activity,
        steps,
    )
    assert max(gaps.values()) <= 1e-9, gaps


def test_years_without_feed_end_in_silence():
    x = rows.seeded_state((1,))
    day = conditions_for(
        np.zeros((rows.LOAD_ROWS, 1)), np.zeros(1), np.full(1, 20.0), 1.0, 1.0, 1, P
    )
    for _ in range(5 * 365):
        methane, _ = advance(x, day, P)
    assert np.isfinite(x).all()
    assert (x >= 0.0).all()
    assert methane[0] < 1e-5


@pytest.mark.parametrize("ph_half", [P.ph_half_hydrolysis, P.ph_half_methanogen])
def test_acid_limits_lie_where_the_reference_has_them(ph_half):
    # BSM2 ADM1: hydrolysers between pH 4.0 and 5.5, methanogens between 6 and 7.
    assert 4.0 <= ph_half <= 7.0
