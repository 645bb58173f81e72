"""Digesters that were measured, and the published steady state: how near the model comes."""

import numpy as np
import pytest

from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.gas import STANDARD_PA, wet_m3
from apps.digesters.core.process.load import Portion
from apps.digesters.core.process.parameters import default_parameters
from tests.digesters.core.process.plants import dung, last_gas_m3, ramped
from tests.digesters.core.process.published import CHECKS, through_one_m3


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_our_constants_agree_with(check):
    check(default_parameters())


def wet_litres(cases, days):
    """Gas of the last day as the holder shows it, at slurry temperature [L]."""
    warm = np.array([case.slurry_c for case in cases])
    return wet_m3(last_gas_m3(ramped(cases, days=days), cases), warm, STANDARD_PA) * 1000.0


def test_cattle_dung_lies_between_the_published_extremes():
    # Sasse, GTZ 1988 s. 4.3: 15 L/kg at 20 C and 30 d, 54 L/kg at 33 C and 100 d, ratio 3.6 (read).
    # GTZ 1993 s. 2.3: 40 L/kg, so 25 kg to the m3. Our ratio is about 1.5 only: milder than Sasse.
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


def test_steady_gas_rises_with_warmth_as_bergland():
    # Bergland et al. 2015: +3.4 %/K at 25-30 C, +1.6 %/K at 30-35 C on dairy manure (read).
    # Ours: 1.5 and 1.3 %/K. The second agrees; the first is milder than published.
    cases = [through_one_m3(dung, slurry_c, 20.0) for slurry_c in (25.0, 30.0, 35.0)]
    gas = last_gas_m3(ramped(cases, days=400), cases)
    low, high = (gas[1:] / gas[:-1] - 1.0) * 20.0
    assert 1.0 <= low <= 3.4
    assert high == pytest.approx(1.6, abs=0.6)
    assert low > high
