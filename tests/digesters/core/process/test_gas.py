"""Wet gas to standard gas, against the R package biogas (Hafner & Rennuit)."""

import pytest

from apps.digesters.core.process.gas import saturation_pressure_pa, standard_m3, wet_m3

ATM_PA = 101_325.0


# biogas_quick_start vignette: mL at temperature, one atmosphere, saturated, to dry mL at 0 C.
@pytest.mark.parametrize(
    ("wet_ml", "gas_c", "dry_ml"),
    [
        (103.0, 25.0, 91.40334),
        (192.0, 25.0, 170.38293),
        (393.0, 35.0, 328.9470),
        (260.0, 35.0, 217.6240),
    ],
)
def test_vignette_volumes(wet_ml, gas_c, dry_ml):
    assert standard_m3(wet_ml, gas_c, ATM_PA) == pytest.approx(dry_ml, rel=1e-6)
    assert wet_m3(dry_ml, gas_c, ATM_PA) == pytest.approx(wet_ml, rel=1e-6)


def test_methane_of_the_vignette():
    # Same vignette: at xCH4 0.6983 the first volume holds 63.82696 mL CH4.
    assert standard_m3(103.0, 25.0, ATM_PA) * 0.6983 == pytest.approx(63.82696, rel=1e-5)


def test_saturation_pressure_at_20_c():
    # Package unit test tests1_low.R: 2333.44 Pa without the enhancement.
    assert saturation_pressure_pa(20.0) == pytest.approx(2333.44, rel=1e-5)


# Derived with the same equations: 1 m3 under a drum at 27 C and +10 cm water; then no pressure.
@pytest.mark.parametrize(
    ("gas_c", "gauge_pa", "dry_m3"),
    [(27.0, 981.0, 0.8867), (20.0, 0.0, 0.9102), (30.0, 0.0, 0.8632)],
)
def test_drum_gas(gas_c, gauge_pa, dry_m3):
    assert standard_m3(1.0, gas_c, ATM_PA + gauge_pa) == pytest.approx(dry_m3, abs=1e-4)
