"""Digesters that were measured: how near the model comes."""

import numpy as np
import pytest

from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.gas import METHANE_M3_PER_KMOL, STANDARD_PA, wet_m3
from apps.digesters.core.process.load import Portion
from tests.digesters.core.process.plants import (
    CANTEEN_VS,
    DUNG_VS,
    Case,
    dung,
    last_gas_m3,
    ramped,
)

MARKET_VS = 0.10 * 0.87  # published TS and VS of mixed vegetable market waste


def wet_litres(cases, days):
    """Gas of the last day as the holder shows it, at slurry temperature [L]."""
    warm = np.array([case.slurry_c for case in cases])
    return wet_m3(last_gas_m3(ramped(cases, days=days), cases), warm, STANDARD_PA) * 1000.0


@pytest.mark.parametrize(
    ("material", "vs_per_kg", "litres"),
    [("canteen_food_waste", CANTEEN_VS, 640.0), ("veg_market_mixed", MARKET_VS, 700.0)],
)
def test_850_litre_plant_at_30_c(material, vs_per_kg, litres):
    """Lohri 2009: 850 L floating drum, 30 C: 640 L/d on food waste, 700 L/d on market waste (read).

    Its feed is known only as about 20 L/d (from memory), so the waste in it is sought: between 2
    and 16 kg, at a loading the book allows (under 2 kg VS/m3/d, Voegeli 2014, from memory).
    """
    cases = [
        Case((Portion(kg, vs_per_kg, fractions_of(material)),), 20.0 - kg, 0.85, 30.0)
        for kg in (2.0, 16.0)
    ]
    made = wet_litres(cases, 200)
    assert made[0] < litres < made[1]
    needed_kg = np.interp(litres, made, [2.0, 16.0])
    assert needed_kg * vs_per_kg / 0.85 < 2.0


def through_one_m3(portion_of, slurry_c, retention_d):
    """Dung and water 1:1 at a retention time."""
    kg = 1000.0 / retention_d / 2.0
    return Case(portion_of(kg), kg, 1.0, slurry_c)


def test_cattle_dung_lies_between_the_published_extremes():
    # Sasse, GTZ 1988 s. 4.3: 15 L/kg at 20 C and 30 d, 54 L/kg at 33 C and 100 d, ratio 3.6 (read).
    # GTZ 1993 s. 2.3: 40 L/kg, so 25 kg to the m3. Our ratio is about 1.6 only: milder than Sasse.
    cases = [through_one_m3(dung, 20.0, 30.0), through_one_m3(dung, 33.0, 100.0)]
    cold, warm = wet_litres(cases, 400) / [case.water_l for case in cases]
    assert 15.0 <= cold < warm <= 54.0
    assert warm / cold > 1.4
    assert warm == pytest.approx(40.0, rel=0.15)


def test_pig_manure_per_kg():
    # GTZ 1993 s. 2.3: 60 L biogas per kg pig dung, 17 kg to the m3 (read). That is dung without
    # urine, where the published 8.4 % solids are slurry: VS of the book's dung taken as 0.14 kg/kg
    # (common practice, no source), hence the wide tolerance.
    def pig(kg):
        return (Portion(kg, 0.14, fractions_of("pig_manure")),)

    case = through_one_m3(pig, 30.0, 40.0)
    assert wet_litres([case], 400)[0] / case.water_l == pytest.approx(60.0, rel=0.45)


def test_dung_as_hashimoto():
    """Share of the ultimate yield against Hashimoto's Contois law, 15 % allowed.

    Y/B0 = 1 - K / (HRT mu - 1 + K), mu = 0.013 T - 0.129, K = 0.8 + 0.0016 exp(0.06 S0)
    (Hashimoto, Chen & Varel 1981; Hashimoto 1982-84; from memory); S0 is the influent kg VS/m3.
    """
    pairs = [(t, d) for t in (25.0, 30.0, 35.0) for d in (15.0, 20.0, 30.0, 40.0)]
    cases = [through_one_m3(dung, *pair) for pair in pairs]
    results = ramped(cases, days=400)
    potential = 0.20  # Nm3 CH4/kg VS, Toufexis 2024 meta-analysis, cow manure
    k = 0.8 + 0.0016 * np.exp(0.06 * 500.0 * DUNG_VS)
    for column, ((slurry_c, retention_d), case) in enumerate(zip(pairs, cases, strict=True)):
        fed_vs = case.water_l * DUNG_VS
        ours = results.methane[-1, column] * METHANE_M3_PER_KMOL / (fed_vs * potential)
        mu = 0.013 * slurry_c - 0.129
        assert ours == pytest.approx(1.0 - k / (retention_d * mu - 1.0 + k), rel=0.15)


def test_steady_gas_rises_with_warmth_as_bergland():
    # Bergland et al. 2015: +3.4 %/K at 25-30 C, +1.6 %/K at 30-35 C on dairy manure (read).
    # Ours: 1.5 and 1.3 %/K. The second agrees; the first is milder than published.
    cases = [through_one_m3(dung, slurry_c, 20.0) for slurry_c in (25.0, 30.0, 35.0)]
    gas = last_gas_m3(ramped(cases, days=400), cases)
    low, high = (gas[1:] / gas[:-1] - 1.0) * 20.0
    assert 1.0 <= low <= 3.4
    assert high == pytest.approx(1.6, abs=0.6)
    assert low > high
