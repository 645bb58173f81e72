"""Containers that people measure by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from apps.feedstock.models import Measure
from apps.groups.models import Group
from apps.groups.operations.save_row import save_row
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cells import Code, Text
from apps.reports.exchange.number_cells import Thousandths
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing


def _current(group: Group) -> Mapping[Key, Values]:
    return {
        (each.code,): {"code": each.code, "name": each.name, "volume_l": each.volume_ml}
        for each in Measure.objects.of(group)
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    there = writing.rows(Measure)

    def save(row: Row) -> None:
        code = row.values["code"]
        measure = there.get(code) or Measure(group=writing.group, code=code)
        measure.name = row.values["name"]
        measure.volume_ml = row.values["volume_l"]
        save_row(measure)

    refusing([*new, *changed], save)


MEASURES = Sheet(
    name="measures",
    title=gettext_noop("Measures"),
    about=gettext_noop("Pails, jugs and other containers that people measure by."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, like pail."), True),
        Column("name", Text(60), gettext_noop("Name, like blue pail."), True),
        Column(
            "volume_l",
            Thousandths("L", least=50, most=200_000),
            gettext_noop("What it holds, in litres."),
            True,
        ),
    ),
    current=_current,
    write=_write,
    most_rows=200,
)
