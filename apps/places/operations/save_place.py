"""Make a place or change one, with its opening hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.save_row import check_row
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.places.models import OpeningHours, Place
from apps.places.queries.find_spots import position_of_code


class HoursOverlap(Refused):
    """Two windows of one weekday lie over each other."""

    code = "hours_overlap"


class PositionUnclear(Refused):
    """A place needs one position."""

    code = "position_unclear"


@dataclass(frozen=True, slots=True, order=True)
class Window:
    """Open on `weekday` (Monday 0) from `opens_min` to `closes_min` after local midnight."""

    weekday: int
    opens_min: int
    closes_min: int


@transaction.atomic
def save_place(
    group: Group,
    *,
    code: str,
    name: str,
    latitude: Decimal | None = None,
    longitude: Decimal | None = None,
    location_code: str = "",
    area: str = "",
    street: str = "",
    access_note: str = "",
    is_public: bool = False,
    hours: Sequence[Window] | None = None,
) -> Place:
    """Make or change the place `code`, which stands at its coordinates or at an Open Location
    Code; a short one is the nearest to the group's places. `hours` replace those that were; None
    leaves them; an empty list means open at all hours."""
    place = Place.objects.of(group).filter(code=code).first() or Place(group=group, code=code)
    place.name = name
    place.area = area
    place.street = street
    place.access_note = access_note
    place.latitude, place.longitude = _position(group, latitude, longitude, location_code)
    place.is_public = is_public
    check_row(place)
    place.save()
    if hours is not None:
        _replace_hours(group, place, sorted(hours))
    return place


def _position(
    group: Group, latitude: Decimal | None, longitude: Decimal | None, location_code: str
) -> tuple[Decimal, Decimal]:
    if location_code:
        if latitude is not None or longitude is not None:
            raise PositionUnclear(
                gettext_noop("Give either coordinates or an Open Location Code, not both."),
                field="location_code",
            )
        return position_of_code(group, location_code, field="location_code")
    if latitude is None or longitude is None:
        raise PositionUnclear(
            gettext_noop("Give latitude and longitude, or an Open Location Code."),
            field="latitude" if latitude is None else "longitude",
        )
    return latitude, longitude


def _replace_hours(group: Group, place: Place, hours: list[Window]) -> None:
    for window in hours:
        if not (0 <= window.weekday <= 6 and 0 <= window.opens_min < window.closes_min <= 1440):
            raise HoursOverlap(
                gettext_noop(
                    "A window from minute %(opens)s to %(closes)s cannot be: it opens before it "
                    "closes, within one day of 1440 minutes."
                ),
                field="hours",
                figures={"opens": window.opens_min, "closes": window.closes_min},
            )
    for one, next_one in pairwise(hours):
        if one.weekday == next_one.weekday and next_one.opens_min < one.closes_min:
            raise HoursOverlap(
                gettext_noop(
                    "Two windows of one day overlap: one closes at minute %(closes)s, the next "
                    "opens at %(opens)s. Make one of them, or leave a gap."
                ),
                field="hours",
                figures={"closes": one.closes_min, "opens": next_one.opens_min},
            )
    OpeningHours.objects.of(group).filter(place=place).delete()
    OpeningHours.unscoped.bulk_create(
        OpeningHours(
            group=group,
            place=place,
            weekday=window.weekday,
            opens_min=window.opens_min,
            closes_min=window.closes_min,
        )
        for window in hours
    )
