"""Fractions hold no more methane than Buswell allows, and give published assays back."""

import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.digesters.core.process import state as rows
from apps.digesters.core.process.derive_fractions import (
    METHANE_M3_PER_KGCOD,
    FractionAssumptions,
    derive_fractions,
    protein_of_vs,
)
from apps.digesters.core.process.fractions import (
    FractionsWrong,
    fractions_of,
    fractions_of_composition,
    published_fractions,
)
from apps.digesters.core.process.gas import METHANE_M3_PER_KMOL
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.simulate import SIX_HOURLY, DailyInputs, simulate
from apps.digesters.core.process.state import LOAD_ROWS, seeded_state
from tests.benchmarks.digestion_fractions import DERIVED, FEEDSTOCK, derive_all
from tests.digesters.core.process.plants import unfed_inputs

# Buswell & Mueller 1952 with 22 360.588 mL/mol [Nm3 CH4 per kg]: C6H10O5 413.7274 as the biogas
# package prints it (vignette predBg); lipid C57H104O6 1010.2 and protein C5H7O2N 494.2 computed.
BUSWELL = {"carbohydrate": 0.4137274, "protein": 0.4942, "lipid": 1.0102}


@pytest.mark.parametrize("pure", BUSWELL)
def test_pure_substances_hold_the_methane_of_buswell(pure):
    shares = dict.fromkeys(BUSWELL, 0.0) | {pure: 1.0}
    fractions = fractions_of_composition(**shares, soluble_share=0.1)
    assert fractions.degradable * METHANE_M3_PER_KGCOD == pytest.approx(BUSWELL[pure], rel=3e-4)


def test_cod_ceiling_of_the_biogas_package():
    # Vignette predBg: 2.6 g COD make 908.3989 mL CH4.
    assert pytest.approx(0.9083989, rel=1e-6) == 2.6 * METHANE_M3_PER_KGCOD


@settings(max_examples=15, deadline=None)
@given(
    parts=st.lists(
        st.tuples(st.sampled_from(sorted(published_fractions())), st.floats(0.01, 5.0)),
        min_size=1,
        max_size=4,
    ),
    slurry_c=st.floats(12.0, 40.0),
    activity=st.floats(0.2, 2.0),
)
def test_no_feed_ever_beats_its_ceiling(parts, slurry_c, activity):
    portions = [Portion(kg, 0.2, fractions_of(name)) for name, kg in parts]
    load, thin = load_of(portions, 10.0, 1.0)
    days = 60
    inputs = DailyInputs(
        np.repeat(load[None, :, None], days, axis=0),
        np.full((days, 1), thin),
        np.full((days, 1), slurry_c),
    )
    start = seeded_state((1,))
    eaten = [rows.FAST, rows.SLOW, rows.FIBRE, rows.ACIDS, rows.ACIDOGENS, rows.METHANOGENS]
    results = simulate(start, inputs, activity=activity, steps_per_day=SIX_HOURLY)
    made = np.cumsum(results.methane[:, 0]) * METHANE_M3_PER_KMOL
    fed = start[eaten, 0].sum() + np.arange(1, days + 1) * load[eaten].sum()
    assert (made <= METHANE_M3_PER_KGCOD * fed).all()


def published_potentials() -> dict[str, float]:
    table = csv.DictReader(io.StringIO(FEEDSTOCK.read_text(encoding="utf-8")))
    return {
        row["material_id"]: float(row["value"])
        for row in table
        if row["quantity"] == "bmp_m3_per_kg_vs" and float(row["value"]) > 0.0
    }


def test_simulated_assay_gives_published_methane_potentials_back():
    """2 kg VS of each material per m3 of digested inoculum, 40 and 60 days at 35 C."""
    potentials = published_potentials()
    names = sorted(set(potentials) & set(published_fractions()))
    assert len(names) >= 30
    x = simulate(seeded_state((1,)), unfed_inputs(40, 1, 35.0), steps_per_day=SIX_HOURLY).end
    x = np.repeat(x, len(names) + 1, axis=1)
    x[rows.METHANOGENS] = 0.8
    x[rows.STRONG_IONS] += 0.05
    x[rows.CARBON] += 0.05
    for column, name in enumerate(names):
        solids = replace(fractions_of(name), acids_per_kg=0.0, methanogens_per_kg=0.0)
        x[:LOAD_ROWS, column] += 2.0 * load_of([Portion(1.0, 1.0, solids)], 0.0, 1.0)[0]
    results = simulate(x, unfed_inputs(60, len(names) + 1, 35.0), steps_per_day=SIX_HOURLY)
    per_vs = (results.methane - results.methane[:, -1:]) * METHANE_M3_PER_KMOL / 2.0
    total = np.cumsum(per_vs, axis=0)
    for column, name in enumerate(names):
        share = total[:, column] / potentials[name]
        slowest = 0.85 if fractions_of(name).fibre > 0.5 * fractions_of(name).degradable else 0.90
        assert slowest <= share[39] <= 1.03, (name, share[39])
        assert 0.95 <= share[59] <= 1.06, (name, share[59])


def test_derived_file_is_what_its_sources_give():
    assert DERIVED.read_text(encoding="utf-8") == derive_all()


def test_every_figure_has_source_and_evidence():
    for row in csv.DictReader(io.StringIO(DERIVED.read_text(encoding="utf-8"))):
        assert row["source"], row
        assert row["evidence"] in {"read", "derived", "assumed"}, row


def test_protein_from_nitrogen_or_from_carbon_to_nitrogen():
    # Zhang et al. 2007: N 3.16 % and VS/TS 85.3 % of food waste make 0.23 protein (6.25 x N).
    assert protein_of_vs(85.3, n_pct_dm=3.16) == pytest.approx(0.2315, abs=1e-3)
    # C:N 20 with carbon VS/1.8: N is 87/1.8/20 = 2.417 % of dry mass.
    assert protein_of_vs(87.0, cn_ratio=20.0) == pytest.approx(6.25 * 2.4167 / 87.0, rel=1e-3)
    assert protein_of_vs(87.0) is None


PLAIN = FractionAssumptions(0.1, 0.1, 0.0, 0, 0, 0, 0, 0, 0)


def test_more_methane_means_more_degradable():
    low, high = derive_fractions(0.2, 0.1, PLAIN), derive_fractions(0.4, 0.1, PLAIN)
    assert high.degradable > low.degradable
    assert derive_fractions(0.0, 0.1, PLAIN).degradable == pytest.approx(0.0)


def test_impossible_shares_are_refused():
    with pytest.raises(FractionsWrong, match="at or below 1"):
        fractions_of_composition(0.8, 0.3, 0.2, soluble_share=0.1)
    with pytest.raises(FractionsWrong, match="published assay"):
        derive_fractions(-0.1, 0.1, PLAIN)


def test_unknown_material_is_taken_as_canteen_waste():
    assert fractions_of("nobody knows") == fractions_of("canteen_food_waste")
