"""From a material to what the model eats: fast, slow, fibre and inert solids, and nitrogen.

Chemical oxygen demand stands in for energy: it is conserved, so a feed can never give more methane
than its COD holds, COD / 64 kmol per kg (the Buswell ceiling in other words).
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

from apps.digesters.core.process.parameters import DIGESTION_DATA

FRACTIONATION_FILE: Final = DIGESTION_DATA / "fractionation.csv"

# kgCOD per kg of the pure substance: Buswell's methane (worked from C6H10O5, C5H7O2N, C57H104O6,
# C5H7O2N again for what nothing eats) over 0.34938 Nm3 per kgCOD.
COD_OF_CARBOHYDRATE: Final = 1.1842
COD_OF_PROTEIN: Final = 1.4145
COD_OF_LIPID: Final = 2.8914
COD_OF_INERT: Final = 1.40  # feed mapping of the reference trajectories
# kmol per kgCOD: BSM2 ADM1 C_ch, C_pr, C_li and N_aa.
C_OF_CARBOHYDRATE: Final = 0.0313
C_OF_PROTEIN: Final = 0.030
C_OF_LIPID: Final = 0.022
N_OF_PROTEIN: Final = 0.007
# Long-chain acids in the COD of a fat, the rest is glycerol: BSM2 ADM1 f_fa_li.
LONG_ACIDS_OF_LIPID: Final = 0.95


class FractionsWrong(ValueError):
    """Shares of a material that cannot be."""


@dataclass(frozen=True)
class Fractions:
    """What one kg of volatile solids (VS) and one kg of fresh material bring.

    Solids in kgCOD per kg VS; nitrogen and carbon bound in them in kmol per kg VS; the rest per kg
    fresh: acids and cells kgCOD, inorganic nitrogen, inorganic carbon and strong ions kmol.
    """

    fast: float
    slow: float
    fibre: float
    inert: float
    fast_n: float
    slow_n: float
    fast_c: float
    slow_c: float
    slow_fat: float = 0.0
    acids_per_kg: float = 0.0
    nitrogen_per_kg: float = 0.0
    carbon_per_kg: float = 0.0
    strong_ions_per_kg: float = 0.0
    acidogens_per_kg: float = 0.0
    methanogens_per_kg: float = 0.0

    @property
    def degradable(self) -> float:
        """Degradable COD [kgCOD per kg VS], fibre counted whole."""
        return self.fast + self.slow + self.fibre


# Fresh food waste as the reference trajectories have it: per kg 10 gCOD acids, 10 mmol inorganic
# nitrogen, 20 mmol cations. Assumed there and here.
FRESH_ACIDS_KGCOD: Final = 0.01
FRESH_NITROGEN_KMOL: Final = 0.010e-3
FRESH_STRONG_IONS_KMOL: Final = 0.02e-3


# Hydrated lime, Ca(OH)2, 74.09 g/mol: two charges a mole. Given only as the recovery guide says.
HYDRATED_LIME: Final = Fractions(
    0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, strong_ions_per_kg=2.0 / 74.09
)


def fractions_of_composition(
    carbohydrate: float,
    protein: float,
    lipid: float,
    *,
    soluble_share: float,
    fibre_share: float = 0.0,
) -> Fractions:
    """Fractions of a fresh food waste from shares of VS [kg/kg]; what is left over is inert.

    `soluble_share` of the carbohydrate is fast, `fibre_share` of it fibre; the rest is slow.
    """
    inert = 1.0 - carbohydrate - protein - lipid
    shares = (carbohydrate, protein, lipid, soluble_share, fibre_share)
    if inert < -1e-9 or min(shares) < 0.0 or soluble_share + fibre_share > 1.0:
        raise FractionsWrong(
            f"Carbohydrate {carbohydrate:.2f}, protein {protein:.2f} and lipid {lipid:.2f} must be "
            f"shares of the volatile solids that together stay at or below 1."
        )
    carbohydrate_cod = carbohydrate * COD_OF_CARBOHYDRATE
    protein_cod = protein * COD_OF_PROTEIN
    lipid_cod = lipid * COD_OF_LIPID
    fast = soluble_share * carbohydrate_cod
    fibre = fibre_share * carbohydrate_cod
    slow_carbohydrate = carbohydrate_cod - fast - fibre
    return Fractions(
        fast=fast,
        slow=slow_carbohydrate + protein_cod + lipid_cod,
        fibre=fibre,
        inert=max(inert, 0.0) * COD_OF_INERT,
        fast_n=0.0,
        slow_n=N_OF_PROTEIN * protein_cod,
        fast_c=C_OF_CARBOHYDRATE * fast,
        slow_c=C_OF_CARBOHYDRATE * slow_carbohydrate
        + C_OF_PROTEIN * protein_cod
        + C_OF_LIPID * lipid_cod,
        slow_fat=LONG_ACIDS_OF_LIPID * lipid_cod,
        acids_per_kg=FRESH_ACIDS_KGCOD,
        nitrogen_per_kg=FRESH_NITROGEN_KMOL,
        strong_ions_per_kg=FRESH_STRONG_IONS_KMOL,
    )


@cache
def published_fractions() -> Mapping[str, Fractions]:
    """Fractions by material id, from fixtures/digestion/fractionation.csv."""
    figures: dict[str, dict[str, float]] = {}
    with FRACTIONATION_FILE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            figures.setdefault(row["material_id"], {})[row["quantity"]] = float(row["value"])
    return MappingProxyType({code: Fractions(**values) for code, values in figures.items()})


# A material nobody published: taken as canteen food waste, the strongest common feed.
UNKNOWN_AS: Final = "canteen_food_waste"


def fractions_of(material_id: str) -> Fractions:
    """Fractions of a material; an unknown one is taken as canteen food waste (assumed)."""
    table = published_fractions()
    return table.get(material_id, table[UNKNOWN_AS])
