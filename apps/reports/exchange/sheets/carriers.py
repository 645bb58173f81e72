"""Carriers: who carries for several homes, on what, when, from where and where not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import time

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.places.models import Place
from apps.reports.exchange.cells import Choice, Clock, Code, Several, YesNo
from apps.reports.exchange.number_cells import Thousandths, Whole
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing
from apps.rounds.models import Carrier, Moving
from apps.rounds.operations.save_carrier import RestWish, save_carrier


def _current(group: Group) -> Mapping[Key, Values]:
    rows = (
        Carrier.objects.of(group)
        .select_related("member", "start", "end")
        .prefetch_related("avoided__place")
    )
    return {
        (each.member.code,): {
            "person": each.member.code,
            "moving": each.moving,
            "load_limit_kg": each.load_limit_g,
            "start": each.start.code,
            "end": None if each.end_id == each.start_id else each.end.code,
            "from": _time(each.from_min),
            "until": _time(each.till_min),
            "rest_min": each.rest_min,
            "rest_from": _time(each.rest_from_min),
            "rest_until": _time(each.rest_till_min),
            "avoids": tuple(sorted(row.place.code for row in each.avoided.all())),
            "active": each.is_active,
        }
        for each in rows
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    places, members = writing.rows(Place), writing.rows(Member)

    def save(row: Row) -> None:
        values = row.values
        rest = None
        if values["rest_min"] is not None:
            rest = RestWish(
                _minutes(values["rest_from"] or values["from"]),
                _minutes(values["rest_until"] or values["until"]),
                values["rest_min"],
            )
        save_carrier(
            writing.group,
            members[values["person"]],
            start=places[values["start"]],
            end=places.get(values["end"]),
            moving=values["moving"],
            load_limit_g=values["load_limit_kg"],
            from_min=_minutes(values["from"]),
            till_min=_minutes(values["until"]),
            rest=rest,
            avoids=[places[code] for code in values["avoids"]],
            is_active=values["active"],
        )

    refusing([*new, *changed], save)


def _time(minutes: int | None) -> time | None:
    """The end of a day is its last minute."""
    return None if minutes is None else time(min(minutes, 1439) // 60, min(minutes, 1439) % 60)


def _minutes(at: time) -> int:
    return at.hour * 60 + at.minute


CARRIERS = Sheet(
    name="carriers",
    title=gettext_noop("Carriers"),
    about=gettext_noop("Who carries for several homes: cart, hours, where they start."),
    key=("person",),
    columns=(
        Column("person", Code(), gettext_noop("Code of the person."), True, refers_to="people"),
        Column(
            "moving",
            Choice(tuple(Moving.values)),
            gettext_noop("on_foot or cargo_bike; on_foot when empty."),
            default=Moving.ON_FOOT.value,
        ),
        Column(
            "load_limit_kg", Thousandths("kg"), gettext_noop("Most kilograms on the cart."), True
        ),
        Column(
            "start", Code(), gettext_noop("Code of the place to start from."), True,
            refers_to="places",
        ),
        Column(
            "end", Code(), gettext_noop("Code of the place to end at; the start when empty."),
            refers_to="places",
        ),
        Column("from", Clock(), gettext_noop("Hours begin, like 07:00."), True),
        Column("until", Clock(), gettext_noop("Hours end, like 13:00."), True),
        Column("rest_min", Whole(1, 240), gettext_noop("Minutes of rest; none when empty.")),
        Column("rest_from", Clock(), gettext_noop("Earliest beginning of the rest.")),
        Column("rest_until", Clock(), gettext_noop("Latest beginning of the rest.")),
        Column(
            "avoids",
            Several(Code()),
            gettext_noop("Codes of places not to be visited, separated by semicolons."),
            default=(),
            refers_to="places",
        ),
        Column(
            "active", YesNo(), gettext_noop("no to leave it out; yes when empty."), default=True
        ),
    ),
    current=_current,
    write=_write,
    most_rows=200,
)  # fmt: skip
