"""Fractions of a material from its published figures, as far as they go.

Degradable COD follows from the published methane potential; protein from published nitrogen; the
rest is the stated assumption for its kind. Nothing here can exceed the methane potential it
starts from.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from apps.digesters.core.process.fractions import (
    C_OF_CARBOHYDRATE,
    C_OF_LIPID,
    C_OF_PROTEIN,
    COD_OF_CARBOHYDRATE,
    COD_OF_INERT,
    COD_OF_LIPID,
    COD_OF_PROTEIN,
    LONG_ACIDS_OF_LIPID,
    N_OF_PROTEIN,
    Fractions,
    FractionsWrong,
)

# Hafner & Rennuit, R package biogas 1.64: 22.360588 Nm3 per kmol; one kmol takes 64 kgCOD.
METHANE_M3_PER_KGCOD: Final = 22.360588 / 64.0
# Part of the degradable COD that is methane by the end of a methane-potential assay; the rest is
# cells. Of this model, over 40 days at 35 C (tests: the assay gives the published figure back).
ASSAY_RECOVERY: Final = 0.87
# The same of fat, whose eaters keep less, and of fibre, of which a part is left.
ASSAY_FAT_RECOVERY: Final = 0.91
ASSAY_FIBRE_RECOVERY: Final = 0.70 * 0.85
PROTEIN_PER_NITROGEN: Final = 6.25  # kg/kg, food analysis convention
VS_PER_CARBON: Final = 1.8  # kg/kg, composting estimate, as the feedstock tables use it


@dataclass(frozen=True)
class FractionAssumptions:
    """What no table gives for a material; shares [-], amounts per kg fresh."""

    lipid_of_vs: float
    soluble_of_carbohydrate: float
    fibre_of_carbohydrate: float
    acids_g_per_kg: float
    nitrogen_mmol_per_kg: float
    carbon_mmol_per_kg: float
    strong_ions_mmol_per_kg: float
    acidogens_g_per_kg: float
    methanogens_g_per_kg: float


def protein_of_vs(
    vs_pct_ts: float, n_pct_dm: float | None = None, cn_ratio: float | None = None
) -> float | None:
    """Protein per VS [kg/kg] from nitrogen, or from C:N with carbon as VS / 1.8; else None."""
    if n_pct_dm is None and cn_ratio is not None:
        n_pct_dm = vs_pct_ts / VS_PER_CARBON / cn_ratio
    if n_pct_dm is None or vs_pct_ts <= 0.0:
        return None
    return PROTEIN_PER_NITROGEN * n_pct_dm / vs_pct_ts


def derive_fractions(
    methane_m3_per_kg_vs: float, protein: float, assumed: FractionAssumptions
) -> Fractions:
    """Fractions whose simulated assay returns the methane potential [Nm3 CH4/kg VS]."""
    if methane_m3_per_kg_vs < 0.0 or not 0.0 <= protein <= 1.0:
        raise FractionsWrong(
            f"A methane potential of {methane_m3_per_kg_vs:g} Nm3/kg VS and a protein share of "
            f"{protein:g} cannot be; give figures from a published assay."
        )
    target = methane_m3_per_kg_vs / METHANE_M3_PER_KGCOD
    protein_cod = protein * COD_OF_PROTEIN
    lipid_cod = assumed.lipid_of_vs * COD_OF_LIPID
    of_both = ASSAY_RECOVERY * protein_cod + ASSAY_FAT_RECOVERY * lipid_cod
    if of_both > target:
        protein_cod, lipid_cod = (x * target / of_both for x in (protein_cod, lipid_cod))
        of_both = target
    recovered = (
        ASSAY_RECOVERY * (1.0 - assumed.fibre_of_carbohydrate)
        + ASSAY_FIBRE_RECOVERY * assumed.fibre_of_carbohydrate
    )
    carbohydrate_cod = (target - of_both) / recovered
    fast = assumed.soluble_of_carbohydrate * carbohydrate_cod
    fibre = assumed.fibre_of_carbohydrate * carbohydrate_cod
    slow = carbohydrate_cod - fast - fibre
    mass = (
        carbohydrate_cod / COD_OF_CARBOHYDRATE
        + protein_cod / COD_OF_PROTEIN
        + lipid_cod / COD_OF_LIPID
    )
    return Fractions(
        fast=fast,
        slow=slow + protein_cod + lipid_cod,
        fibre=fibre,
        inert=max(1.0 - mass, 0.0) * COD_OF_INERT,
        fast_n=0.0,
        slow_n=N_OF_PROTEIN * protein_cod,
        fast_c=C_OF_CARBOHYDRATE * fast,
        slow_c=C_OF_CARBOHYDRATE * slow + C_OF_PROTEIN * protein_cod + C_OF_LIPID * lipid_cod,
        slow_fat=LONG_ACIDS_OF_LIPID * lipid_cod,
        acids_per_kg=assumed.acids_g_per_kg / 1e3,
        nitrogen_per_kg=assumed.nitrogen_mmol_per_kg / 1e6,
        carbon_per_kg=assumed.carbon_mmol_per_kg / 1e6,
        strong_ions_per_kg=assumed.strong_ions_mmol_per_kg / 1e6,
        acidogens_per_kg=assumed.acidogens_g_per_kg / 1e3,
        methanogens_per_kg=assumed.methanogens_g_per_kg / 1e3,
    )
