"""Who may see where somebody lives: the one rule that pages, prints, files and API ask.

Everybody sees the area. The exact address of a private place is for whoever lives or works
there, for the group administrator who keeps the list, and for the other end of an announced
assignment from 24 hours before it until 24 hours after. A coordinator can open an address in
an emergency; that is an operation of its own, and it is written down. Public places are public.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import ROUND_FLOOR, Decimal
from math import cos, radians

from apps.people.models import Role
from apps.places.models import Place

SEEN_BEFORE = SEEN_AFTER = timedelta(hours=24)
"""How long around a pickup its two ends see each other's address. A ruling of ours."""

CELL_M = 500
"""Least width and height of the area that is shown instead of a point. A ruling of ours."""

M_PER_DEGREE = 110_574
"""One degree of latitude at the equator of WGS 84 [m], the shortest there is (from memory of
NGA.STND.0036; the test compares with PROJ), so that a cell is never smaller than it should be."""


@dataclass(frozen=True, slots=True)
class Viewer:
    """Whose eyes: roles in the group, and the places that are the viewer's own or, at this
    moment, at the other end of an assignment."""

    roles: frozenset[Role] = frozenset()
    own_place_ids: frozenset[int] = frozenset()
    matched_place_ids: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class VisibleAddress:
    """What one viewer may see of one place. Without `is_exact` the point is the middle of an
    area of at least `CELL_M` metres each way."""

    area: str
    street: str | None
    access_note: str | None
    latitude: Decimal
    longitude: Decimal
    is_exact: bool


def may_see_address(place: Place, viewer: Viewer) -> bool:
    """Whether the exact address of `place` is for `viewer`."""
    return (
        place.is_public
        or Role.GROUP_ADMIN in viewer.roles
        or place.pk in viewer.own_place_ids
        or place.pk in viewer.matched_place_ids
    )


def visible_address(place: Place, viewer: Viewer) -> VisibleAddress:
    """The address as `viewer` may see it."""
    if may_see_address(place, viewer):
        return exact_address(place)
    latitude, longitude = area_middle(place.latitude, place.longitude)
    return VisibleAddress(place.area, None, None, latitude, longitude, is_exact=False)


def exact_address(place: Place) -> VisibleAddress:
    """The whole address, for whoever was found to be allowed it."""
    return VisibleAddress(
        place.area,
        place.street,
        place.access_note,
        place.latitude,
        place.longitude,
        is_exact=True,
    )


def area_middle(latitude: Decimal, longitude: Decimal) -> tuple[Decimal, Decimal]:
    """The middle of the cell [degrees] that a point lies in. Cells are fixed to the Earth, so
    that asking often tells no more than asking once; their width in degrees grows with the
    latitude of their row."""
    height = Decimal(CELL_M) / M_PER_DEGREE
    row = (latitude / height).to_integral_value(ROUND_FLOOR)
    middle = (row + Decimal("0.5")) * height
    farthest = min(max(abs(row), abs(row + 1)) * height, Decimal("89.9"))
    width = Decimal(repr(CELL_M / (M_PER_DEGREE * cos(radians(float(farthest))))))
    column = (longitude / width).to_integral_value(ROUND_FLOOR)
    places = Decimal("0.000001")
    return middle.quantize(places), ((column + Decimal("0.5")) * width).quantize(places)
