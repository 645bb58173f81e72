"""Destinations: where what is left over goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.places.models import Place
from apps.reports.exchange.cells import Code, Text, YesNo
from apps.reports.exchange.number_cells import Thousandths
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing
from apps.supply.models import Destination
from apps.supply.operations.save_destination import save_destination


def _current(group: Group) -> Mapping[Key, Values]:
    return {
        (each.code,): {
            "code": each.code,
            "name": each.name,
            "place": each.place.code,
            "capacity_kg_per_day": each.capacity_g_per_day,
            "active": each.is_active,
        }
        for each in Destination.objects.of(group).select_related("place")
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    places = writing.rows(Place)

    def save(row: Row) -> None:
        save_destination(
            writing.group,
            code=row.values["code"],
            name=row.values["name"],
            place=places[row.values["place"]],
            capacity_g_per_day=row.values["capacity_kg_per_day"],
            is_active=row.values["active"],
        )

    refusing([*new, *changed], save)


DESTINATIONS = Sheet(
    name="destinations",
    title=gettext_noop("Destinations"),
    about=gettext_noop("Where what is left over goes, such as a compost place."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, unique in the group."), True),
        Column("name", Text(120), gettext_noop("Name of the destination."), True),
        Column("place", Code(), gettext_noop("Code of its place."), True, refers_to="places"),
        Column(
            "capacity_kg_per_day",
            Thousandths("kg"),
            gettext_noop("Most kilograms it takes on one day."),
            True,
        ),
        Column(
            "active", YesNo(), gettext_noop("no to leave it out; yes when empty."), default=True
        ),
    ),
    current=_current,
    write=_write,
    most_rows=200,
)
