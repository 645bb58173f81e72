"""What a living digester is made of: the rows of the state array.

A state is a float array of shape (STATE_ROWS, ...); the trailing axes are digesters, members of an
ensemble, or both. Concentrations are per cubic metre of slurry: kgCOD/m3 for solids, acids and
cells; kmol/m3 for nitrogen, carbon, charge and the hydrogen ion.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FAST: Final = 0  # feed solids that dissolve within a day [kgCOD/m3]
SLOW: Final = 1  # feed solids that dissolve within days [kgCOD/m3]
FIBRE: Final = 2  # dung, fibre, dead cells [kgCOD/m3]
ACIDOGENS: Final = 3  # cells that make acids [kgCOD/m3]
ACIDS: Final = 4  # acetic acid [kgCOD/m3]
METHANOGENS: Final = 5  # cells that eat acids [kgCOD/m3]
INERT: Final = 6  # solids nothing eats [kgCOD/m3]
NITROGEN: Final = 7  # inorganic nitrogen, ammonium and ammonia [kmol/m3]
CARBON: Final = 8  # inorganic carbon, dissolved CO2 and bicarbonate [kmol/m3]
STRONG_IONS: Final = 9  # cations less anions that never react [kmol/m3]
FAST_N: Final = 10  # organic nitrogen bound in FAST [kmol/m3]
SLOW_N: Final = 11  # organic nitrogen bound in SLOW [kmol/m3]
FAST_C: Final = 12  # organic carbon bound in FAST [kmol/m3]
SLOW_C: Final = 13  # organic carbon bound in SLOW [kmol/m3]
SLOW_FAT: Final = 14  # the part of SLOW that becomes long-chain acids [kgCOD/m3]
LONG_ACIDS: Final = 15  # long-chain fatty acids, out of fat [kgCOD/m3]
FAT_EATERS: Final = 16  # cells that eat them [kgCOD/m3]
HIGHER_ACIDS: Final = 17  # propionic, butyric and valeric acid [kgCOD/m3]
HYDROGEN_ION: Final = 18  # [kmol/m3] = [mol/L]; pH = -log10

STATE_ROWS: Final = 19
LOAD_ROWS: Final = 18  # a load has every row but the hydrogen ion

# Tank filled with fresh cattle dung and water 1:1. The same assumed values the reference
# trajectories start from (tests/data/adm1/README.md), lumped into our rows.
DUNG_AND_WATER: Final[dict[int, float]] = {
    SLOW: 2.8,
    FIBRE: 14.0,
    ACIDOGENS: 0.9,
    ACIDS: 1.0,
    HIGHER_ACIDS: 0.3,
    METHANOGENS: 0.15,
    INERT: 45.0,
    NITROGEN: 0.055,
    CARBON: 0.075,
    STRONG_IONS: 0.055,
    SLOW_N: 0.0070,  # 1.0 of 2.8 kgCOD is protein, at 0.007
    SLOW_C: 0.0835,  # (1.5 x 0.0313 + 1.0 x 0.030 + 0.3 x 0.022) / 2.8 a kgCOD
    SLOW_FAT: 0.285,  # 0.95 of the 0.3 of 2.8 kgCOD that is fat
    FAT_EATERS: 0.1,
    HYDROGEN_ION: 10**-7.5,
}


def seeded_state(shape: tuple[int, ...] = ()) -> Floats:
    """State of tanks just filled with fresh dung and water 1:1; shape (STATE_ROWS, *shape)."""
    state = np.zeros((STATE_ROWS, *shape))
    for row, value in DUNG_AND_WATER.items():
        state[row] = value
    return state


def ph_of(state: Floats) -> Floats:
    """pH [-] of a state; shape of the trailing axes."""
    return np.asarray(-np.log10(state[HYDROGEN_ION]))
