"""What becomes of carbon and charge: fixed by what is made of what, whatever the rates."""

from __future__ import annotations

import numpy as np

from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.state import ACIDS, HIGHER_ACIDS, Floats


def _hydrogen_carbon(p: ProcessParameters) -> float:
    """Carbon that a kgCOD of hydrogen takes to become methane and cells [kmol]."""
    return (1.0 - p.yield_hydrogen) * p.c_methane + p.yield_hydrogen * p.c_biomass


def carbon_per_dissolved(p: ProcessParameters) -> float:
    """Carbon in what a kgCOD dissolved becomes: cells, acids and, of hydrogen, methane [kmol]."""
    acetic_share = 1.0 - p.hydrogen_share - p.higher_share
    return p.yield_acidogen * p.c_biomass + (1.0 - p.yield_acidogen) * (
        acetic_share * p.c_acid
        + p.higher_share * p.c_higher_acid
        + p.hydrogen_share * _hydrogen_carbon(p)
    )


def carbon_per_higher(p: ProcessParameters) -> float:
    """Inorganic carbon that a kgCOD of higher acids takes to become what is made of it [kmol]."""
    return _carbon_of_uptake(p, p.yield_higher, p.hydrogen_of_higher) - p.c_higher_acid


def carbon_per_fat(p: ProcessParameters) -> float:
    """The same of long-chain acids [kmol]."""
    return _carbon_of_uptake(p, p.yield_fat, p.hydrogen_of_fat) - p.c_long_acid


def _carbon_of_uptake(p: ProcessParameters, cells: float, hydrogen: float) -> float:
    kept = (1.0 - hydrogen) * p.c_acid + hydrogen * _hydrogen_carbon(p)
    return cells * p.c_biomass + (1.0 - cells) * kept


def acid_anions(x: Floats, p: ProcessParameters) -> Floats:
    """Charge of the volatile acids were all of them split [kmol/m3]; long-chain ones count none."""
    return np.asarray(p.acid_charge * x[ACIDS] + p.higher_charge * x[HIGHER_ACIDS])
