"""Gas volumes: kilomoles, standard cubic metres, and the wet warm litres a holder shows.

Standard is dry at 0 C and 101.325 kPa. Water vapour after Alduchov & Eskridge 1996, equations 21
and 22, as the R package biogas 1.64 (Hafner & Rennuit) uses them.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from apps.digesters.core.process.state import Floats

METHANE_M3_PER_KMOL: Final = 22.360588  # Hafner & Rennuit, biogas 1.64
CARBON_DIOXIDE_M3_PER_KMOL: Final = 22.263009
STANDARD_PA: Final = 101_325.0
STANDARD_K: Final = 273.15
METHANE_MJ_PER_M3: Final = 35.8  # lower heating value at standard state, ISO 6976
SATURATION_CEILING_C: Final = 99.0


def saturation_pressure_pa(gas_c: Floats | float, pressure_pa: float | None = None) -> Floats:
    """Water vapour over water [Pa]; with `pressure_pa` the enhancement in moist gas too."""
    t = np.minimum(np.asarray(gas_c, dtype=float), SATURATION_CEILING_C)
    pure = 610.94 * np.exp(17.625 * t / (243.04 + t))
    if pressure_pa is None:
        return np.asarray(pure)
    return np.asarray(1.00071 * np.exp(4.5e-8 * pressure_pa) * pure)


def standard_m3(wet_m3: Floats | float, gas_c: Floats | float, pressure_pa: float) -> Floats:
    """Dry standard volume of water-saturated gas at `gas_c` [C] and absolute pressure [Pa]."""
    dry_pa = pressure_pa - saturation_pressure_pa(gas_c, pressure_pa)
    kelvin = np.asarray(gas_c, dtype=float) + STANDARD_K
    return np.asarray(wet_m3 * dry_pa / STANDARD_PA * STANDARD_K / kelvin)


def wet_m3(standard: Floats | float, gas_c: Floats | float, pressure_pa: float) -> Floats:
    """Volume water-saturated gas takes at `gas_c` [C] and absolute pressure [Pa]."""
    return np.asarray(standard / standard_m3(1.0, gas_c, pressure_pa))


def biogas_standard_m3(methane_kmol: Floats, carbon_dioxide_kmol: Floats) -> Floats:
    """Dry biogas [standard m3]."""
    return np.asarray(
        methane_kmol * METHANE_M3_PER_KMOL + carbon_dioxide_kmol * CARBON_DIOXIDE_M3_PER_KMOL
    )
