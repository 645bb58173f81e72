"""Wet warm gas in a drum as standard gas, as energy, and as minutes of cooking."""

import math
from collections.abc import Mapping
from types import MappingProxyType

from apps.kernel.figures import Figure, finite

STANDARD_PA = 101_325.0
"""Pa; standard pressure of every Nm3 here."""

STANDARD_K = 273.15
"""K; standard temperature of every Nm3 here."""

METHANE_LHV_MJ_PER_NM3 = 35.8
"""MJ/Nm3 at 0 °C and 101.325 kPa (ISO 6976; inoplex page, read)."""

LPG_LHV_MJ_PER_KG = 47.3
"""MJ/kg (IPCC 2006 Guidelines vol. 2, Table 1.2; from memory)."""

MJ_PER_KWH = 3.6

STOVE_L_PER_HOUR = 300.0
"""L/h of drum gas for one household burner: GTZ 1993 planning value (read); range 200-450."""

_GTZ, _KVIC = "GTZ 1993 s. 2.3 and 7.1", "KVIC/MNRE planning figures"

FUEL_EQUIVALENTS: Mapping[str, tuple[Figure, Figure]] = MappingProxyType(
    {
        "lpg_kg": (Figure(0.4, "kg", _GTZ, "read"), Figure(0.43, "kg", _KVIC, "memory")),
        "firewood_kg": (Figure(5.0, "kg", _GTZ, "read"), Figure(3.47, "kg", _KVIC, "memory")),
        "charcoal_kg": (Figure(2.0, "kg", _GTZ, "read"), Figure(1.46, "kg", _KVIC, "memory")),
        "dried_dung_kg": (Figure(10.0, "kg", _GTZ, "read"), Figure(12.3, "kg", _KVIC, "memory")),
        "kerosene_l": (Figure(0.5, "L", _GTZ, "read"), Figure(0.62, "L", _KVIC, "memory")),
    }
)
"""What 1 m3 of biogas replaces, by two authorities. Stove efficiencies are baked in and differ;
show both, never chain them."""


def saturation_pressure_pa(celsius: float, pressure_pa: float | None = None) -> float:
    """Water vapour over water [Pa]: Alduchov & Eskridge 1996, eq. 21.

    With ``pressure_pa`` the enhancement of moist gas (eq. 22) is applied.
    """
    finite(celsius, "The gas temperature", "°C", low=-40, high=75)
    plain = 610.94 * math.exp(17.625 * celsius / (243.04 + celsius))
    if pressure_pa is None:
        return plain
    finite(pressure_pa, "The gas pressure", "Pa", low=1000, high=1_000_000)
    return plain * 1.00071 * math.exp(4.5e-8 * pressure_pa)


def standard_volume(volume: float, celsius: float, pressure_pa: float = STANDARD_PA) -> float:
    """Dry volume at 0 °C and 101.325 kPa of wet gas, in the unit of ``volume``.

    Vstd = V (p - pw) / 101 325 x 273.15 / (273.15 + t), the gas being saturated with water;
    ``pressure_pa`` is absolute.
    """
    finite(volume, "The gas volume", "of any unit")
    vapour_pa = saturation_pressure_pa(celsius, pressure_pa)
    dry_pa = max(0.0, pressure_pa - vapour_pa)
    return volume * dry_pa / STANDARD_PA * STANDARD_K / (STANDARD_K + celsius)


def energy_mj(standard_m3: float, methane_share: float) -> float:
    """Lower heat of combustion [MJ] of dry standard gas."""
    finite(standard_m3, "The gas volume", "Nm3")
    finite(methane_share, "The methane share", "of 1", high=1.0)
    return standard_m3 * methane_share * METHANE_LHV_MJ_PER_NM3


def energy_kwh(standard_m3: float, methane_share: float) -> float:
    """The same in kWh."""
    return energy_mj(standard_m3, methane_share) / MJ_PER_KWH


def lpg_kg(standard_m3: float, methane_share: float) -> float:
    """LPG [kg] with the same heat; equal stove efficiency is supposed."""
    return energy_mj(standard_m3, methane_share) / LPG_LHV_MJ_PER_KG


def burner_minutes(drum_gas_l: float, stove_l_per_hour: float = STOVE_L_PER_HOUR) -> int:
    """Whole minutes one burner runs on ``drum_gas_l`` [L as it stands in the drum]."""
    finite(drum_gas_l, "The gas", "L")
    finite(stove_l_per_hour, "The stove's flow", "L/h", low=20, high=5000)
    return math.floor(round(drum_gas_l / stove_l_per_hour * 60, 6))
