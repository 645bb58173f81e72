"""Who sees a street, and how large the area is that others see."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod

from apps.people.models import Role
from apps.places.models import Place
from apps.places.queries.visible_address import CELL_M, Viewer, area_middle, visible_address

EARTH = Geod(ellps="WGS84")
"""PROJ's geodesics (Karney 2013, https://doi.org/10.1007/s00190-012-0578-z): distances that are
measured by somebody else's code."""

POINTS = st.tuples(st.decimals("-60", "60", places=6), st.decimals("-179", "179", places=6))


def home(**fields: object) -> Place:
    known = {
        "area": "Harbour",
        "street": "Lime Lane 1",
        "access_note": "Ring twice.",
        "latitude": Decimal("38.501234"),
        "longitude": Decimal("-9.001234"),
    }
    return Place(pk=7, **{**known, **fields})


@pytest.mark.parametrize(
    ("viewer", "place", "sees"),
    [
        (Viewer(), home(), False),
        (Viewer(), home(is_public=True), True),
        (Viewer(roles=frozenset({Role.GROUP_ADMIN})), home(), True),
        (Viewer(roles=frozenset(set(Role) - {Role.GROUP_ADMIN})), home(), False),
        (Viewer(own_place_ids=frozenset({7})), home(), True),
        (Viewer(matched_place_ids=frozenset({7})), home(), True),
        (Viewer(own_place_ids=frozenset({8}), matched_place_ids=frozenset({9})), home(), False),
    ],
)
def test_who_sees_the_exact_address(viewer: Viewer, place: Place, sees: bool) -> None:
    seen = visible_address(place, viewer)
    assert seen.is_exact is sees
    assert seen.area == "Harbour"
    assert (seen.street == "Lime Lane 1") is sees
    assert (seen.access_note == "Ring twice.") is sees
    assert ((seen.latitude, seen.longitude) == (place.latitude, place.longitude)) is sees


@given(POINTS)
def test_the_middle_is_near_and_tells_no_more_when_asked_again(
    point: tuple[Decimal, Decimal],
) -> None:
    middle = area_middle(*point)
    assert area_middle(*middle) == middle
    _there, _back, away_m = EARTH.inv(
        float(point[1]), float(point[0]), float(middle[1]), float(middle[0])
    )
    # Half a diagonal of a square of 500 m is 354 m; the Earth's flattening adds up to 1 %.
    assert away_m <= 354 * 1.01 + 1


@given(POINTS)
def test_areas_are_as_large_as_promised(point: tuple[Decimal, Decimal]) -> None:
    """The next cell's middle, to the north and to the east, is at least a cell away."""
    latitude, longitude = area_middle(*point)
    for azimuth in (0, 90):
        east, north, _back = EARTH.fwd(float(longitude), float(latitude), azimuth, CELL_M / 2 - 2)
        same = area_middle(Decimal(f"{north:.6f}"), Decimal(f"{east:.6f}"))
        assert same == (latitude, longitude)
