"""Gas in a drum: standard volume, energy, minutes of cooking, meals."""

import pytest

from apps.digesters.core.gas_picture import METHANE_SHARE, gas_picture
from apps.digesters.core.process.gas import METHANE_MJ_PER_M3, STANDARD_PA, standard_m3
from apps.digesters.core.process.holder import GasInHolder


@pytest.mark.parametrize(
    ("wet_ml", "celsius", "standard_ml"),
    [(103, 25, 91.40334), (192, 25, 170.38293), (393, 35, 328.9470), (260, 35, 217.6240)],
)
def test_wet_gas_to_standard_gas(wet_ml, celsius, standard_ml):
    # R package biogas (Hafner & Rennuit), vignette biogas_quick_start: cases of 25 and 35 °C.
    assert float(standard_m3(wet_ml, celsius, STANDARD_PA)) == pytest.approx(standard_ml, rel=1e-6)


def seen(wet_m3: float, factor: float, at_stop: bool = False):
    return gas_picture(GasInHolder(wet_m3 * factor, 0.0, at_stop), factor, 300.0)


def test_a_cubic_metre_of_drum_gas():
    # 27 °C, +10 cm of water (981 Pa), sea level: 0.8867 standard m3 (derived from the
    # package's equation); 21.5 MJ per standard m3 at 60 % methane (inoplex page, ISO 6976).
    factor = float(standard_m3(1.0, 27.0, STANDARD_PA + 981.0))
    picture = seen(1.0, factor)
    assert picture.standard_l == pytest.approx(886.7, abs=0.1)
    assert picture.energy_mj / picture.standard_l * 1000 == pytest.approx(21.5, abs=0.05)
    assert pytest.approx(21.5, abs=0.05) == METHANE_SHARE * METHANE_MJ_PER_M3


def test_minutes_and_meals_by_the_books():
    # GTZ 1993 plans with 0.3 m3/h: 600 L are two hours. GTZ 1989 Table 5.17: 150-300 L a person
    # and meal, so that 1500 L are five people's meals at 300 and ten at 150.
    assert seen(0.6, 0.88).minutes == 120
    picture = seen(1.5, 0.88)
    assert (picture.meals_low, picture.meals_high) == (5, 10)


@pytest.mark.parametrize(("litres_per_hour", "minutes"), [(200, 300), (450, 133)])
def test_burners_of_the_published_range(litres_per_hour, minutes):
    # 200-450 L/h (GTZ, OCTOPUS): one cubic metre lasts 5 h at 200 and 2 h 13 min at 450.
    assert gas_picture(GasInHolder(0.88, 0, False), 0.88, litres_per_hour).minutes == minutes


def test_a_full_holder_is_a_lower_bound():
    assert seen(1.0, 0.88, at_stop=True).at_least
