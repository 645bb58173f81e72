"""Materials that the group measured itself; the published table needs no file."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from apps.feedstock.core.materials import QUANTITIES
from apps.feedstock.core.risk_groups import RISK_GROUPS
from apps.feedstock.models import Figure, Holding, Material
from apps.feedstock.operations.save_material import Given, check_material, save_material
from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cells import Choice, Code, Several, Text, YesNo
from apps.reports.exchange.number_cells import Number
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing

QUANTITY_HELP = {
    "ts_pct_wet": gettext_noop("Total solids, % of fresh mass."),
    "vs_pct_ts": gettext_noop("Volatile solids, % of dry mass."),
    "bmp_m3_per_kg_vs": gettext_noop("Methane potential, Nm3 CH4/kg VS."),
    "cn_ratio": gettext_noop("Carbon to nitrogen, by mass."),
    "bulk_density_kg_per_l": gettext_noop("Bulk density, kg/L."),
    "k_hyd_per_day": gettext_noop("First-order rate of hydrolysis, 1/d."),
    "c_pct_dm": gettext_noop("Carbon, % of dry mass."),
    "n_pct_dm": gettext_noop("Nitrogen, % of dry mass."),
    "p_pct_dm": gettext_noop("Phosphorus, % of dry mass."),
    "k_pct_dm": gettext_noop("Potassium, % of dry mass."),
}


def _current(group: Group) -> Mapping[Key, Values]:
    figures: dict[int, dict[str, Decimal]] = defaultdict(dict)
    sources: dict[int, set[str]] = defaultdict(set)
    for figure in Figure.objects.of(group).filter(material__published_id=""):
        figures[figure.material_id][figure.quantity] = figure.value
        sources[figure.material_id].add(figure.source)
    return {
        (material.code,): {
            "code": material.code,
            "name": material.name,
            "risk_groups": tuple(material.share_groups),
            "keeps": material.holding,
            "buffers": material.buffers,
            **{name: figures[material.pk].get(name) for name in QUANTITIES},
            "measured_by": "; ".join(sorted(sources[material.pk])),
            "cautions": material.cautions,
        }
        for material in Material.objects.of(group).filter(published_id="")
    }


def _given(values: Values) -> dict[str, Given]:
    return {
        name: Given(values[name], values["measured_by"])
        for name in QUANTITIES
        if values[name] is not None
    }


def _check(row: Row, current: Values | None, today: date) -> None:
    check_material(
        row.values["code"],
        row.values["name"],
        _given(row.values),
        row.values["risk_groups"],
        row.values["keeps"],
    )


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    def save(row: Row) -> None:
        save_material(
            writing.group,
            code=row.values["code"],
            name=row.values["name"],
            figures=_given(row.values),
            share_groups=row.values["risk_groups"],
            holding=row.values["keeps"],
            buffers=row.values["buffers"],
            cautions=row.values["cautions"],
        )

    refusing([*new, *changed], save)


MATERIALS = Sheet(
    name="materials",
    title=gettext_noop("Measured materials"),
    about=gettext_noop("Materials that the group measured itself. An empty figure is no claim."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, not one of the published table."), True),
        Column("name", Text(120), gettext_noop("Name of the material."), True),
        Column(
            "risk_groups",
            Several(Choice(tuple(RISK_GROUPS))),
            gettext_noop("Risk groups, a semicolon between."),
            default=(),
        ),
        Column(
            "keeps",
            Choice(tuple(Holding.values)),
            gettext_noop("How it keeps: wet, dung or dry; wet when empty."),
            default="wet",
        ),
        Column(
            "buffers", YesNo(), gettext_noop("yes when it buffers acid, like dung."), default=False
        ),
        *(
            Column(name, Number(Decimal(0), Decimal(str(most))), QUANTITY_HELP[name])
            for name, (_unit, most) in QUANTITIES.items()
        ),
        Column(
            "measured_by", Text(500), gettext_noop("Who measured it, when and how."), default=""
        ),
        Column("cautions", Text(1000), gettext_noop("What to watch."), default=""),
    ),
    current=_current,
    write=_write,
    check=_check,
    most_rows=500,
)
