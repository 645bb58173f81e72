"""Distances against published geodesics and an independent geodesy library."""

import csv
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from pyproj import Geod

from apps.kernel.figures import FigureError
from apps.places.core.distance import (
    DETOUR,
    SPEED_M_PER_S,
    Point,
    geodesic_m,
    travel_minutes,
    way_m,
)

LINES = Path(__file__).resolve().parents[2] / "data" / "geodesy" / "geodesics.csv"
PROJ = Geod(ellps="WGS84")


def wrap(longitude: float) -> float:
    return (longitude + 180) % 360 - 180


def published_lines() -> list[dict[str, str]]:
    with LINES.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.mark.parametrize(
    "line", published_lines(), ids=lambda line: f"{line['lat1']},{line['lon1']}"
)
def test_published_geodesics(line: dict[str, str]) -> None:
    """Test lines of GeographicLib (Karney), see tests/data/geodesy/README.md."""
    origin = Point(float(line["lat1"]), wrap(float(line["lon1"])))
    goal = Point(float(line["lat2"]), wrap(float(line["lon2"])))
    assert geodesic_m(origin, goal) == pytest.approx(float(line["length_m"]), abs=1e-5)


def test_flinders_peak_to_buninyong() -> None:
    """Geocentric Datum of Australia Technical Manual (ICSM): 54 972.271 m on GRS 80, from memory.
    WGS 84 differs by under 0.1 mm here."""
    flinders = Point(-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600)
    buninyong = Point(-(37 + 39 / 60 + 10.15610 / 3600), 143 + 55 / 60 + 35.38390 / 3600)
    assert geodesic_m(flinders, buninyong) == pytest.approx(54_972.271, abs=0.001)


@example(0.0, 0.0, 0.0, 1.853999082539087e-17)
@given(st.floats(-89, 89), st.floats(-179, 179), st.floats(-0.05, 0.05), st.floats(-0.05, 0.05))
def test_neighbourhood_distances_agree_with_proj(
    latitude: float, longitude: float, north: float, east: float
) -> None:
    """PROJ's own geodesic code through pyproj, over ways of up to some kilometres."""
    origin, goal = Point(latitude, longitude), Point(latitude + north, longitude + east)
    _, _, metres = PROJ.inv(origin.longitude, origin.latitude, goal.longitude, goal.latitude)
    assert geodesic_m(origin, goal) == pytest.approx(metres, abs=1e-4)
    assert geodesic_m(goal, origin) == pytest.approx(metres, abs=1e-4)
    assert way_m(origin, goal) >= geodesic_m(origin, goal)


def test_detour_factor_and_rounding() -> None:
    origin, goal = Point(60.0, 25.0), Point(60.0, 25.01)
    # 558.00002 m by PROJ; 1.3 times that, rounded up.
    assert way_m(origin, goal) == 726
    assert way_m(origin, goal, 1.0) == 559
    assert way_m(origin, origin) == 0
    assert DETOUR.source
    assert DETOUR.low == 1.2


def test_travel_time() -> None:
    """0.9 m/s with a load (practice, 0.8-1.1): 540 m are ten minutes."""
    assert SPEED_M_PER_S["on_foot"].value == 0.9
    assert travel_minutes(540) == 10
    assert travel_minutes(541) == 11
    assert travel_minutes(0) == 0


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [(91.0, 0.0), (0.0, 181.0), (float("nan"), 0.0), (0.0, float("inf"))],
)
def test_points_off_the_earth_are_refused(latitude: float, longitude: float) -> None:
    with pytest.raises(FigureError, match=r"latitude|longitude"):
        Point(latitude, longitude)


def test_a_detour_cannot_shorten() -> None:
    with pytest.raises(FigureError, match=r"detour factor is 0\.9"):
        way_m(Point(0, 0), Point(0, 1), 0.9)
