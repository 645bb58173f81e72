"""The group's calendar: holidays, market closing days and festivals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cells import Choice, Code, Day, Text, YesNo
from apps.reports.exchange.number_cells import Whole
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing
from apps.supply.core.day_effects import MOST_PERCENT
from apps.supply.models import CalendarDay, CalendarKind, SourceKind
from apps.supply.operations.save_calendar_day import save_calendar_day


def _column(kind: str) -> str:
    return f"for_{kind}"


def _current(group: Group) -> Mapping[Key, Values]:
    return {
        (each.code,): {
            "code": each.code,
            "name": each.name,
            "kind": each.kind,
            "first_on": each.first_on,
            "last_on": each.last_on,
            "yearly": each.is_yearly,
            "amount_percent": each.amount_percent,
            **{
                _column(kind): not each.source_kinds or kind in each.source_kinds
                for kind in SourceKind.values
            },
        }
        for each in CalendarDay.objects.of(group)
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    def save(row: Row) -> None:
        kinds = [kind for kind in SourceKind.values if row.values[_column(kind)]]
        save_calendar_day(
            writing.group,
            code=row.values["code"],
            name=row.values["name"],
            kind=row.values["kind"],
            first_on=row.values["first_on"],
            last_on=row.values["last_on"],
            is_yearly=row.values["yearly"],
            amount_percent=row.values["amount_percent"],
            source_kinds=() if len(kinds) == len(SourceKind.values) else kinds,
            now=writing.now,
        )

    refusing([*new, *changed], save)


CALENDAR_DAYS = Sheet(
    name="calendar",
    title=gettext_noop("Calendar"),
    about=gettext_noop("Holidays, market closing days and festivals."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, unique in the group."), True),
        Column("name", Text(120), gettext_noop("Name of the day."), True),
        Column("kind", Choice(tuple(CalendarKind.values)), gettext_noop("Kind of day."), True),
        Column("first_on", Day(), gettext_noop("First day, like 2026-05-01."), True),
        Column("last_on", Day(), gettext_noop("Last day."), True),
        Column(
            "yearly",
            YesNo(),
            gettext_noop("yes when it comes every year; no when empty."),
            default=False,
        ),
        Column(
            "amount_percent",
            Whole(0, MOST_PERCENT),
            gettext_noop("Waste in % of a usual day; 0, shut, when empty."),
            default=0,
        ),
        *(
            Column(
                _column(kind),
                YesNo(),
                gettext_noop("no when it is not about this kind of source; yes when empty."),
                default=True,
            )
            for kind in SourceKind.values
        ),
    ),
    current=_current,
    write=_write,
    most_rows=500,
)
