"""Places with their access notes and opening hours."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.places.models import OpeningHours, Place
from apps.places.operations.save_place import Window
from apps.reports.exchange.cells import Code, Text, YesNo
from apps.reports.exchange.degrees import Degrees
from apps.reports.exchange.opening import Hours
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing

FIELDS = ("name", "area", "street", "access_note", "latitude", "longitude")


def _current(group: Group) -> Mapping[Key, Values]:
    windows: dict[int, list[Window]] = defaultdict(list)
    for hours in OpeningHours.objects.of(group):
        windows[hours.place_id].append(Window(hours.weekday, hours.opens_min, hours.closes_min))
    return {
        (place.code,): {
            "code": place.code,
            **{name: getattr(place, name) for name in FIELDS},
            "public": place.is_public,
            "hours": tuple(sorted(windows[place.pk])),
        }
        for place in Place.objects.of(group)
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    there = writing.rows(Place) if changed else {}
    added = [Place(group=writing.group, code=row.values["code"]) for row in new]
    altered = [there[row.values["code"]] for row in changed]
    rows = [*new, *changed]
    places = [*added, *altered]
    for place, row in zip(places, rows, strict=True):
        for name in FIELDS:
            setattr(place, name, row.values[name])
        place.is_public = row.values["public"]
    Place.unscoped.bulk_create(added)
    Place.unscoped.bulk_update(altered, [*FIELDS, "is_public"], batch_size=100)
    OpeningHours.objects.of(writing.group).filter(place__in=altered).delete()
    OpeningHours.unscoped.bulk_create(
        OpeningHours(
            group=writing.group,
            place=place,
            weekday=window.weekday,
            opens_min=window.opens_min,
            closes_min=window.closes_min,
        )
        for place, row in zip(places, rows, strict=True)
        for window in row.values["hours"]
    )


PLACES = Sheet(
    name="places",
    title=gettext_noop("Places"),
    about=gettext_noop("Homes, stalls, gardens and compost places, with their opening hours."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, unique in the group."), True),
        Column("name", Text(120), gettext_noop("Name of the place."), True),
        Column("area", Text(80), gettext_noop("Quarter; everybody may see it."), default=""),
        Column("street", Text(200), gettext_noop("Street and number; kept private."), default=""),
        Column("access_note", Text(200), gettext_noop("How to get in; kept private."), default=""),
        Column(
            "latitude",
            Degrees("latitude"),
            gettext_noop(
                "Degrees north, WGS 84, like 38.512345; south is negative. Or a full Open "
                "Location Code, here and under longitude."
            ),
            True,
        ),
        Column(
            "longitude",
            Degrees("longitude"),
            gettext_noop("Degrees east, WGS 84, like 9.012345; west is negative."),
            True,
        ),
        Column(
            "public",
            YesNo(),
            gettext_noop("yes for a stall or shop, no for a home; no when empty."),
            default=False,
        ),
        Column(
            "hours",
            Hours(),
            gettext_noop(
                "Opening hours, like Mo-Fr 08:00-12:00,14:00-18:00; Sa 09:00-13:00; "
                "empty: at all hours."
            ),
            default=(),
        ),
    ),
    current=_current,
    write=_write,
)
