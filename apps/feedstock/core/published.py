"""The published table of materials: every figure with its source and evidence."""

import csv
import io
from collections.abc import Iterator
from pathlib import Path

from apps.feedstock.core.materials import QUANTITIES, Material
from apps.kernel.figures import Figure, FigureError

TABLES = Path(__file__).resolve().parents[3] / "fixtures" / "feedstock"

MATERIAL_COLUMNS = ("id", "name", "risk_groups", "holding", "buffers", "cautions")
FIGURE_COLUMNS = (
    "material_id", "quantity", "value", "low", "high", "unit", "source", "evidence",
)  # fmt: skip


def read_published(directory: Path = TABLES) -> dict[str, Material]:
    """Read the published table; materials by code, in the table's order."""
    return parse_published(
        (directory / "published_materials.csv").read_text(encoding="utf-8"),
        (directory / "published_figures.csv").read_text(encoding="utf-8"),
    )


def parse_published(materials_csv: str, figures_csv: str) -> dict[str, Material]:
    """Make materials of the two tables' text; a refusal names the row.

    An empty ``value`` is no figure: the material makes no claim for that quantity.
    """
    figures: dict[str, dict[str, Figure]] = {}
    for number, row in _rows(figures_csv, FIGURE_COLUMNS):
        code, quantity = row["material_id"], row["quantity"]
        if quantity not in QUANTITIES:
            raise FigureError(f"Row {number}: {quantity} is not a known quantity.")
        if row["value"] == "":
            continue
        known = figures.setdefault(code, {})
        if quantity in known:
            raise FigureError(f"Row {number}: {code} already has a figure for {quantity}.")
        value = _number(row["value"], number, "value")
        known[quantity] = Figure(
            value=value if value is not None else 0.0,
            low=_number(row["low"], number, "low"),
            high=_number(row["high"], number, "high"),
            unit=row["unit"],
            source=row["source"],
            evidence=row["evidence"],
        )
    materials: dict[str, Material] = {}
    for number, row in _rows(materials_csv, MATERIAL_COLUMNS):
        code = row["id"]
        if code in materials:
            raise FigureError(f"Row {number}: the material {code} is listed twice.")
        materials[code] = Material(
            code=code,
            name=row["name"],
            figures=figures.pop(code, {}),
            risk_groups=tuple(group for group in row["risk_groups"].split(";") if group),
            holding=row["holding"],
            buffers=row["buffers"] == "yes",
            cautions=row["cautions"],
        )
    if figures:
        raise FigureError(f"Figures are given for {next(iter(figures))}, which is not listed.")
    return materials


def _rows(text: str, columns: tuple[str, ...]) -> Iterator[tuple[int, dict[str, str]]]:
    reader = csv.DictReader(io.StringIO(text))
    missing = [name for name in columns if name not in (reader.fieldnames or ())]
    if missing:
        raise FigureError(f"The column {missing[0]} is missing.")
    yield from enumerate(reader, start=2)


def _number(text: str, row: int, column: str) -> float | None:
    if text == "":
        return None
    try:
        return float(text)
    except ValueError:
        raise FigureError(f"Row {row}: {column} is {text!r}; give a number.") from None
