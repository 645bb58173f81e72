"""Sources: who gives organic waste."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.ledger.models import Account, AccountKind
from apps.people.models import Member
from apps.places.models import Place
from apps.reports.exchange.cells import Choice, Code, Text, YesNo
from apps.reports.exchange.number_cells import Whole
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing
from apps.supply.models import Source, SourceKind


def _current(group: Group) -> Mapping[Key, Values]:
    rows = Source.objects.of(group).select_related("place", "contact")
    return {
        (source.code,): {
            "code": source.code,
            "name": source.name,
            "kind": source.kind,
            "place": source.place.code,
            "contact": source.contact.code if source.contact else None,
            "max_homes_per_day": source.max_homes_per_day,
            "active": source.is_active,
        }
        for source in rows
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    places, members = writing.rows(Place), writing.rows(Member)
    there = writing.rows(Source) if changed else {}
    accounts = Account.unscoped.bulk_create(
        Account(
            group=writing.group,
            kind=AccountKind.SOURCE,
            code=f"{AccountKind.SOURCE.value}-{row.values['code']}",
            name=row.values["name"],
        )
        for row in new
    )
    added = [
        Source(group=writing.group, code=row.values["code"], account=account)
        for row, account in zip(new, accounts, strict=True)
    ]
    altered = [there[row.values["code"]] for row in changed]
    for source, row in zip([*added, *altered], [*new, *changed], strict=True):
        source.name = row.values["name"]
        source.kind = row.values["kind"]
        source.place = places[row.values["place"]]
        source.contact = members.get(row.values["contact"])
        source.max_homes_per_day = row.values["max_homes_per_day"]
        source.is_active = row.values["active"]
    Source.unscoped.bulk_create(added)
    Source.unscoped.bulk_update(
        altered,
        ["name", "kind", "place", "contact", "max_homes_per_day", "is_active"],
        batch_size=100,
    )


SOURCES = Sheet(
    name="sources",
    title=gettext_noop("Sources"),
    about=gettext_noop("Stalls, canteens, shops, households and gardens that give waste."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, unique in the group."), True),
        Column("name", Text(120), gettext_noop("Name of the source."), True),
        Column(
            "kind",
            Choice(tuple(SourceKind.values)),
            gettext_noop("What sort of giver it is."),
            True,
        ),
        Column("place", Code(), gettext_noop("Code of its place."), True, refers_to="places"),
        Column("contact", Code(), gettext_noop("Code of the contact person."), refers_to="people"),
        Column(
            "max_homes_per_day",
            Whole(1, 20),
            gettext_noop("Most homes that may come on one day; 2 when empty."),
            default=2,
        ),
        Column(
            "active", YesNo(), gettext_noop("no to leave it out; yes when empty."), default=True
        ),
    ),
    current=_current,
    write=_write,
)
