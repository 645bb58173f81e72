"""Methane that a substance can give at most, from its formula or its oxygen demand."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from apps.kernel.figures import FigureError, finite

ATOMIC_MASS: Mapping[str, float] = MappingProxyType(
    {"C": 12.01, "H": 1.008, "N": 14.007, "O": 16.00}
)
"""g/mol, as in Hafner & Rennuit, R package "biogas" 1.64, R/constants.R."""

CH4_ML_PER_MOL = 22_360.588
"""mL/mol of dry methane at 0 °C and 101.325 kPa; same source. Older texts use 22 414."""

CO2_ML_PER_MOL = 22_263.009
"""mL/mol of dry carbon dioxide at 0 °C and 101.325 kPa; same source."""

O2_G_PER_MOL = 2 * ATOMIC_MASS["O"]

_TERM = re.compile(r"([A-Z][a-z]?)(\d+(?:\.\d+)?)?")


@dataclass(frozen=True)
class GasYield:
    """Dry gas from one gram, at 0 °C and 101.325 kPa."""

    methane_ml_per_g: float
    carbon_dioxide_ml_per_g: float
    ammonia_mol_per_g: float

    @property
    def methane_share(self) -> float:
        """CH4 / (CH4 + CO2) by mole, all carbon dioxide counted as gas."""
        methane = self.methane_ml_per_g / CH4_ML_PER_MOL
        carbon = methane + self.carbon_dioxide_ml_per_g / CO2_ML_PER_MOL
        return methane / carbon if carbon else 0.0


def parse_formula(formula: str) -> dict[str, float]:
    """Atoms of ``formula``, e.g. ``"C6H10O5"`` or ``"CH3COOH"``; only C, H, N and O."""
    atoms: dict[str, float] = {}
    end = 0
    for match in _TERM.finditer(formula):
        element, count = match.group(1), match.group(2)
        if match.start() != end or element not in ATOMIC_MASS:
            break
        atoms[element] = atoms.get(element, 0.0) + float(count or 1)
        end = match.end()
    if not formula or end != len(formula):
        raise FigureError(
            f"The formula {formula!r} cannot be read at {formula[end:]!r}; "
            "write atoms of C, H, N and O such as C6H10O5."
        )
    return atoms


def molar_mass(formula: str) -> float:
    """g/mol."""
    return sum(ATOMIC_MASS[element] * count for element, count in parse_formula(formula).items())


def gas_yield(formula: str, degradable: float = 1.0, to_cells: float = 0.0) -> GasYield:
    """Gas from one gram of ``formula`` (Buswell & Mueller 1952, with nitrogen by Boyle 1976).

    CnHaObNc + (n - a/4 - b/2 + 3c/4) H2O
      -> (n/2 + a/8 - b/4 - 3c/8) CH4 + (n/2 - a/8 + b/4 + 3c/8) CO2 + c NH3

    ``degradable``: share that is broken down; ``to_cells``: share of it built into bacteria,
    which takes its electrons, and so its methane, away. Cells are C5H7O2N with ammonia as their
    nitrogen, as in McCarty's half-reactions (Rittmann & McCarty 2001).
    """
    finite(degradable, "The degradable share", "of 1", high=1.0)
    finite(to_cells, "The share built into cells", "of 1", high=0.9)
    atoms = parse_formula(formula)
    n, a, b, c = (atoms.get(element, 0.0) for element in ("C", "H", "O", "N"))
    electrons = 4 * n + a - 2 * b - 3 * c
    if n == 0 or electrons < 0:
        raise FigureError(f"{formula} gives no methane: it holds no carbon that can be reduced.")
    methane = electrons / 8 * (1 - to_cells)
    cells = electrons * to_cells / _CELL_ELECTRONS
    carbon_dioxide = n - methane - 5 * cells
    per_gram = degradable / molar_mass(formula)
    return GasYield(
        methane_ml_per_g=methane * per_gram * CH4_ML_PER_MOL,
        carbon_dioxide_ml_per_g=max(0.0, carbon_dioxide) * per_gram * CO2_ML_PER_MOL,
        ammonia_mol_per_g=max(0.0, c - cells) * per_gram,
    )


_CELL_ELECTRONS = 4 * 5 + 7 - 2 * 2 - 3 * 1
"""Electrons in one C5H7O2N."""


def blend_yields(parts: Mapping[str, float], **shares: float) -> GasYield:
    """Gas from one gram of a blend, ``parts`` being mass shares by formula that add up to 1."""
    total = sum(finite(share, f"The share of {name}", "of 1") for name, share in parts.items())
    if abs(total - 1) > 1e-6:
        raise FigureError(f"The mass shares add up to {total:g}; they must add up to 1.")
    yields = [(share, gas_yield(formula, **shares)) for formula, share in parts.items()]
    return GasYield(
        sum(share * gas.methane_ml_per_g for share, gas in yields),
        sum(share * gas.carbon_dioxide_ml_per_g for share, gas in yields),
        sum(share * gas.ammonia_mol_per_g for share, gas in yields),
    )


def methane_from_cod(cod_g: float, degradable: float = 1.0, to_cells: float = 0.0) -> float:
    """Methane [mL dry, 0 °C, 101.325 kPa] of ``cod_g`` [g COD]: one mole burns with two of O2."""
    finite(cod_g, "The oxygen demand", "g COD")
    finite(degradable, "The degradable share", "of 1", high=1.0)
    finite(to_cells, "The share built into cells", "of 1", high=1.0)
    return cod_g / (2 * O2_G_PER_MOL) * CH4_ML_PER_MOL * degradable * (1 - to_cells)
