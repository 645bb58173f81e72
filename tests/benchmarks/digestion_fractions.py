"""Derive fixtures/digestion/fractionation.csv from the published figures and stated assumptions.

python -m tests.benchmarks.digestion_fractions --write
"""

from __future__ import annotations

import csv
import io
import sys
from dataclasses import fields
from pathlib import Path

from apps.digesters.core.process.derive_fractions import (
    FractionAssumptions,
    derive_fractions,
    protein_of_vs,
)
from apps.digesters.core.process.fractions import Fractions
from apps.digesters.core.process.parameters import DIGESTION_DATA

FEEDSTOCK = DIGESTION_DATA.parent / "feedstock" / "published_figures.csv"
ASSUMPTIONS = DIGESTION_DATA / "fraction_assumptions.csv"
DERIVED = DIGESTION_DATA / "fractionation.csv"
UNITS = {
    **dict.fromkeys(("fast", "slow", "fibre", "inert", "slow_fat"), "kgCOD/kg VS"),
    **dict.fromkeys(("fast_n", "slow_n", "fast_c", "slow_c"), "kmol/kg VS"),
    **dict.fromkeys(("acids_per_kg", "acidogens_per_kg", "methanogens_per_kg"), "kgCOD/kg"),
    **dict.fromkeys(("nitrogen_per_kg", "carbon_per_kg", "strong_ions_per_kg"), "kmol/kg"),
}


def _table(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


def derive_all() -> str:
    """The whole derived file as text."""
    figures: dict[str, dict[str, dict[str, str]]] = {}
    for row in _table(FEEDSTOCK):
        figures.setdefault(row["material_id"], {})[row["quantity"]] = row
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["material_id", "quantity", "value", "unit", "source", "evidence"])
    for row in _table(ASSUMPTIONS):
        known = figures.get(row["like"] or row["material_id"], {})
        assumed = FractionAssumptions(
            **{field.name: float(row[field.name]) for field in fields(FractionAssumptions)}
        )

        def value(quantity: str, known: dict[str, dict[str, str]] = known) -> float | None:
            return float(known[quantity]["value"]) if quantity in known else None

        protein = None
        if (vs := value("vs_pct_ts")) is not None:
            protein = protein_of_vs(vs, value("n_pct_dm"), value("cn_ratio"))
        if protein is None:
            protein = float(row["protein_of_vs_when_unpublished"])
            protein_words, protein_evidence = "protein assumed", "assumed"
        else:
            protein_words = "protein as 6.25 x published nitrogen"
            source_row = known.get("n_pct_dm") or known["cn_ratio"]
            protein_evidence = source_row["evidence"]
        methane = known.get("bmp_m3_per_kg_vs")
        fractions = derive_fractions(float(methane["value"]) if methane else 0.0, protein, assumed)
        methane_words = (
            f"methane potential {methane['value']} ({methane['source']}; {methane['evidence']})"
            if methane
            else "no methane potential published: taken as none"
        )
        if row["like"]:
            methane_words = f"as {row['like']}: {methane_words}"
        for field in fields(Fractions):
            name = field.name
            amount = getattr(fractions, name)
            if name.endswith("_per_kg"):
                source, evidence = row["source"], row["evidence"]
            elif name == "slow_n":
                source, evidence = protein_words, (
                    "assumed" if protein_evidence == "assumed" else "derived"
                )  # fmt: skip
            elif name == "inert":
                source, evidence = f"rest of the solids; {methane_words}", "derived"
            else:
                source = f"{methane_words}; {protein_words}; split: {row['source']}"
                evidence = "assumed"
            writer.writerow(
                [row["material_id"], name, f"{amount:.6g}", UNITS[name], source, evidence]
            )
    return out.getvalue()


if __name__ == "__main__":
    if "--write" in sys.argv:
        DERIVED.write_text(derive_all(), encoding="utf-8")
    else:
        print(derive_all())
