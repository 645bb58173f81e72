"""Minutes of cooking."""

import pytest

from apps.digesters.core.process.cooking import Band, Burner, fuel_saved, gas_this_evening


def test_minutes_of_a_planning_burner():
    # GTZ 1993 plans with 0.3 m3/h: 0.35 wet m3 at the burner are 70 minutes.
    burner = Burner(litres_per_hour=300.0, gas_c=25.0)
    gas = 70.0 * burner.standard_m3_per_minute
    band = burner.minutes(Band(gas * 50 / 70, gas, gas * 90 / 70))
    assert (band.low, band.middle, band.high) == pytest.approx((50.0, 70.0, 90.0))
    # 5 L/min at 25 C, dry at 0 C: 91.40334 / 103 of it (biogas package vignette).
    assert burner.standard_m3_per_minute == pytest.approx(0.005 * 91.40334 / 103.0, rel=1e-6)


def test_burnt_and_minutes_are_each_other_s_inverse():
    burner = Burner(litres_per_hour=400.0, gas_c=30.0, gauge_pa=500.0)
    burnt = burner.burnt_m3(33.0)
    assert burner.minutes(Band(burnt, burnt, burnt)).middle == pytest.approx(33.0)


def test_fuel_of_one_cubic_metre():
    # GTZ 1993 s. 2.3 and 7.1: 1 m3 of biogas stands in for 0.4 kg LPG or 5 kg of wood or 2 of coal.
    saved = fuel_saved(1.0)
    assert (saved.lpg_kg, saved.firewood_kg, saved.charcoal_kg) == (0.4, 5.0, 2.0)


def test_holder_caps_the_evening():
    assert gas_this_evening(0.2, Band(0.1, 0.2, 0.4), 0.5) == Band(
        pytest.approx(0.3), pytest.approx(0.4), 0.5
    )
