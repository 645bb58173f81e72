"""From what was tipped in to what enters a cubic metre of slurry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from apps.digesters.core.process.fractions import Fractions
from apps.digesters.core.process.state import (
    ACIDOGENS,
    ACIDS,
    CARBON,
    FAST,
    FAST_C,
    FAST_N,
    FIBRE,
    INERT,
    LOAD_ROWS,
    METHANOGENS,
    NITROGEN,
    SLOW,
    SLOW_C,
    SLOW_FAT,
    SLOW_N,
    STRONG_IONS,
    Floats,
)

# What dilution brings, per cubic metre of mixture [kmol/m3]; assumed, as in the reference
# trajectories (tests/data/adm1/README.md).
WATER_STRONG_IONS: Final = 0.003
WATER_NITROGEN: Final = 0.0005
WATER_CARBON: Final = 0.004


@dataclass(frozen=True)
class Portion:
    """One material of a feeding: fresh mass [kg], VS per kg fresh [kg/kg], its fractions."""

    fresh_kg: float
    vs_per_kg: float
    fractions: Fractions

    @property
    def vs_kg(self) -> float:
        """Volatile solids [kg]."""
        return self.fresh_kg * self.vs_per_kg


def load_of(portions: Sequence[Portion], water_l: float, slurry_m3: float) -> tuple[Floats, float]:
    """A day's load (LOAD_ROWS,) [kgCOD/m3/d, kmol/m3/d] and its dilution [1/d]; 1 kg = 1 L.

    Water and portions may be zero; `slurry_m3` is the working volume and must be positive.
    """
    if slurry_m3 <= 0.0:
        raise ValueError(f"The working volume must be positive, not {slurry_m3:g} m3.")
    row = np.zeros(LOAD_ROWS)
    fresh_kg = 0.0
    for portion in portions:
        f, vs, kg = portion.fractions, portion.vs_kg, portion.fresh_kg
        fresh_kg += kg
        row[FAST] += vs * f.fast
        row[SLOW] += vs * f.slow
        row[FIBRE] += vs * f.fibre
        row[INERT] += vs * f.inert
        row[FAST_N] += vs * f.fast_n
        row[SLOW_N] += vs * f.slow_n
        row[FAST_C] += vs * f.fast_c
        row[SLOW_C] += vs * f.slow_c
        row[SLOW_FAT] += vs * f.slow_fat
        row[ACIDS] += kg * f.acids_per_kg
        row[NITROGEN] += kg * f.nitrogen_per_kg
        row[CARBON] += kg * f.carbon_per_kg
        row[STRONG_IONS] += kg * f.strong_ions_per_kg
        row[ACIDOGENS] += kg * f.acidogens_per_kg
        row[METHANOGENS] += kg * f.methanogens_per_kg
    mixture_m3 = (fresh_kg + water_l) / 1000.0
    row[STRONG_IONS] += mixture_m3 * WATER_STRONG_IONS
    row[NITROGEN] += mixture_m3 * WATER_NITROGEN
    row[CARBON] += mixture_m3 * WATER_CARBON
    return row / slurry_m3, mixture_m3 / slurry_m3
