"""Days on which nobody is at a place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.places.models import Absence, Place
from apps.places.operations.set_absence import set_absence
from apps.reports.exchange.cells import Code, Day, Text
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing


def _current(group: Group) -> Mapping[Key, Values]:
    rows = Absence.objects.of(group).select_related("place", "keyholder")
    return {
        (each.place.code, each.first_on.isoformat(), each.last_on.isoformat()): {
            "place": each.place.code,
            "first_on": each.first_on,
            "last_on": each.last_on,
            "keyholder": each.keyholder.code if each.keyholder else None,
            "note": each.note,
        }
        for each in rows
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    places, members = writing.rows(Place), writing.rows(Member)

    def save(row: Row) -> None:
        set_absence(
            places[row.values["place"]],
            first_on=row.values["first_on"],
            last_on=row.values["last_on"],
            now=writing.now,
            keyholder=members.get(row.values["keyholder"]),
            note=row.values["note"],
        )

    refusing([*new, *changed], save)


ABSENCES = Sheet(
    name="absences",
    title=gettext_noop("Absences"),
    about=gettext_noop("Days on which nobody is at a place: a household away, a stall shut."),
    key=("place", "first_on", "last_on"),
    columns=(
        Column("place", Code(), gettext_noop("Code of the place."), True, refers_to="places"),
        Column("first_on", Day(), gettext_noop("First day away, like 2026-05-31."), True),
        Column("last_on", Day(), gettext_noop("Last day away."), True),
        Column(
            "keyholder",
            Code(),
            gettext_noop("Code of the person who can act meanwhile."),
            refers_to="people",
        ),
        Column("note", Text(120), gettext_noop("Note."), default=""),
    ),
    current=_current,
    write=_write,
    most_rows=1_000,
)
