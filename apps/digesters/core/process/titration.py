"""FOS/TAC after Nordmann: acids over buffer from one titration.

20 mL of filtered slurry, titrated to pH 5.0 and on to pH 4.4 (Mantech Method Abstract 127).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

CARBONATE_MG_PER_MOL: Final = 50_045.0  # CaCO3 per equivalent, mg
USUAL_SAMPLE_ML: Final = 20.0


@dataclass(frozen=True)
class FosTac:
    """Volatile acids [mg/L as acetic acid], buffer [mg/L as CaCO3] and their ratio [-]."""

    fos_mg_per_l: float
    tac_mg_per_l: float

    @property
    def ratio(self) -> float:
        return self.fos_mg_per_l / self.tac_mg_per_l


def fos_tac(
    to_ph5_ml: float,
    to_ph44_ml: float,
    *,
    normality: float = 0.1,
    sample_ml: float = USUAL_SAMPLE_ML,
) -> FosTac:
    """FOS and TAC from the acid used to reach pH 5.0 and, in all, pH 4.4 [mL].

    The FOS formula is written for 20 mL and 0.1 N; other amounts are scaled to it.
    """
    if not 0.0 < to_ph5_ml <= to_ph44_ml or sample_ml <= 0.0 or normality <= 0.0:
        raise ValueError(
            f"Acid to pH 5.0 ({to_ph5_ml:g} mL) must be above zero and no more than acid to pH 4.4 "
            f"({to_ph44_ml:g} mL), from a sample above zero."
        )
    scale = USUAL_SAMPLE_ML / sample_ml * normality / 0.1
    second_ml = (to_ph44_ml - to_ph5_ml) * scale
    return FosTac(
        fos_mg_per_l=(second_ml * 1.66 - 0.15) * 500.0,
        tac_mg_per_l=to_ph5_ml * normality * CARBONATE_MG_PER_MOL / sample_ml,
    )
