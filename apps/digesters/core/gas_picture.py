"""What a look at the holder means at the stove: volume, energy, minutes of cooking, meals. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from apps.digesters.core.process.gas import METHANE_MJ_PER_M3
from apps.digesters.core.process.holder import GasInHolder

METHANE_SHARE = 0.6
"""Of biogas, taken where nobody measured: FAO/CMS 1996 Table 1 has 50-70 %."""

MEAL_L_LOW, MEAL_L_HIGH = 150, 300
"""Litres of biogas a person and meal: GTZ 1989 Table 5.17."""


@dataclass(frozen=True, slots=True)
class GasPicture:
    """`wet_l`: litres as they stand in the holder; `standard_l`: dry, at 0 °C and 101.325 kPa;
    `energy_mj`: lower heating value at 60 % methane; `minutes`: of this home's burner;
    `meals_low` to `meals_high`: one person's meals. `at_least`: the holder was full, and what
    escaped was not seen."""

    wet_l: float
    standard_l: float
    energy_mj: float
    minutes: int
    meals_low: int
    meals_high: int
    at_least: bool


def gas_picture(seen: GasInHolder, standard_per_wet: float, burner_l_per_h: float) -> GasPicture:
    """``standard_per_wet``: dry standard m3 in one m3 of the holder's gas (see
    ``process.gas.standard_m3``). A burner's litres are counted as the holder holds them."""
    wet_l = seen.standard_m3 / standard_per_wet * 1000
    return GasPicture(
        wet_l=wet_l,
        standard_l=seen.standard_m3 * 1000,
        energy_mj=seen.standard_m3 * METHANE_SHARE * METHANE_MJ_PER_M3,
        minutes=int(wet_l / burner_l_per_h * 60) if burner_l_per_h > 0 else 0,
        meals_low=int(wet_l // MEAL_L_HIGH),
        meals_high=int(wet_l // MEAL_L_LOW),
        at_least=seen.at_stop,
    )
