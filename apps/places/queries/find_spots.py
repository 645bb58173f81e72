"""From what somebody types to points: coordinates, an Open Location Code, or an address."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from geopy.geocoders.base import Geocoder

from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.places.core.distance import Point
from apps.places.core.found_spot import STEP, FoundSpot, kept_degrees
from apps.places.core.gazetteer import Gazetteer, middle
from apps.places.core.location_code import find_code, point_of_code
from apps.places.core.unreadable import Unreadable
from apps.places.models import Place
from apps.places.queries.online_geocoder import look_up_online
from apps.places.queries.street_maps import StreetMap, street_map

_COORDINATES = re.compile(r"(-?\d{1,2}[.,]\d+)\s*[;,\s]\s*(-?\d{1,3}[.,]\d+)", re.ASCII)
"""Both with decimals, which may stand behind a dot or a comma."""


class NotFound(Refused):
    """Nothing is like what was typed, or it cannot be read; `field` is where."""

    code = "not_found_on_the_map"


def find_spots(group: Group, text: str, *, limit: int = 5) -> list[FoundSpot]:
    """Up to `limit` spots, best first; `NotFound` says what to try next when there is none. The
    network is asked only where the installation has set a geocoder, and only for addresses that
    the group's own streets do not know."""
    text = text.strip()
    coordinates = _COORDINATES.fullmatch(text)
    if coordinates:
        return [_at(text, *(part.replace(",", ".") for part in coordinates.groups()))]
    if find_code(text):
        latitude, longitude = position_of_code(group, text, field="text")
        return [FoundSpot(find_code(text) or text, latitude, longitude, True)]
    streets = street_map(group)
    found = _locate(_gazetteer(streets), text, limit) if streets else []
    if not any(each.is_exact for each in found):
        found += look_up_online(text, near=reference(group), limit=limit)
    if not found:
        raise NotFound(
            gettext_noop(
                "“%(text)s” is not known here. Try the street alone, an Open Location Code, or "
                "latitude and longitude."
            ),
            field="text",
            figures={"text": text[:60]},
        )
    return found[:limit]


def position_of_code(group: Group, text: str, *, field: str) -> tuple[Decimal, Decimal]:
    """Latitude and longitude of an Open Location Code; a short one is the nearest to the middle
    of the group's places, or of its streets."""
    code = find_code(text) or text
    try:
        point = point_of_code(code, reference(group) if code.find("+") < 8 else None)
    except Unreadable as error:
        raise NotFound(
            error.sentence.template, field=field, figures=error.sentence.values
        ) from error
    return kept_degrees(point.latitude), kept_degrees(point.longitude)


def reference(group: Group) -> Point | None:
    """Where the group is."""
    points = [
        Point(float(latitude), float(longitude))
        for latitude, longitude in Place.objects.of(group).values_list("latitude", "longitude")
    ]
    if points:
        return middle(points)
    streets = street_map(group)
    if streets is None:
        return None
    south, west, north, east = streets.network().box
    return Point((south + north) / 2, (west + east) / 2)


def _at(text: str, latitude: str, longitude: str) -> FoundSpot:
    north, east = Decimal(latitude), Decimal(longitude)
    if not (-90 <= north <= 90 and -180 <= east <= 180):
        raise NotFound(
            gettext_noop(
                "“%(text)s” is not on the earth: latitude from -90 to 90, then longitude from "
                "-180 to 180."
            ),
            field="text",
            figures={"text": text[:60]},
        )
    return FoundSpot(text, north.quantize(STEP), east.quantize(STEP), True)


@lru_cache(maxsize=4)
def _gazetteer(streets: StreetMap) -> Gazetteer:
    return Gazetteer(streets.names())


def _locate(geocoder: Geocoder, text: str, limit: int) -> list[FoundSpot]:
    return [
        FoundSpot(
            each.address,
            kept_degrees(each.latitude),
            kept_degrees(each.longitude),
            each.raw["exact"],
        )
        for each in geocoder.geocode(text, exactly_one=False, limit=limit) or []
    ]
