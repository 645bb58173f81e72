"""How far two places are apart, and how long that takes."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
from geopy.distance import geodesic

from apps.kernel.figures import Figure, finite, whole

SPHERE_M = 6_371_008.8
"""Mean radius of the earth (IUGG R1)."""

DETOUR = Figure(
    1.3,
    "-",
    "Circuity of short walks: >= 1.3 under 1 km (Ballou et al. 2002: 1.2-1.4 by country; Newell "
    "1980: about 1.2 between random urban points; it rises as distance falls)",
    "memory",
    low=1.2,
    high=1.4,
)
"""Way on foot over geodesic distance, where no street network is at hand."""

SPEED_M_PER_S: Mapping[str, Figure] = MappingProxyType(
    {
        "on_foot": Figure(
            0.9,
            "m/s",
            "Planning value with a load: 0.8-1.1 (practice); 15th percentile of walkers over 65 "
            "0.92 (Gates et al. 2006, read)",
            "practice",
            low=0.8,
            high=1.1,
        ),
        "cargo_bike": Figure(
            2.8,
            "m/s",
            "Planning value with stops: 8-12 km/h (practice); heavy loads mostly under 14 km/h "
            "(UTRC freight tricycles, New York, read)",
            "practice",
            low=2.2,
            high=3.3,
        ),
    }
)


@dataclass(frozen=True)
class Point:
    """A point on the WGS 84 ellipsoid, in degrees."""

    latitude: float
    longitude: float

    def __post_init__(self) -> None:
        finite(self.latitude, "The latitude", "degrees", low=-90, high=90)
        finite(self.longitude, "The longitude", "degrees", low=-180, high=180)


def geodesic_m(origin: Point, goal: Point) -> float:
    """Shortest way over the WGS 84 ellipsoid [m] (Karney 2013, through geopy)."""
    metres: float = geodesic(
        (origin.latitude, origin.longitude), (goal.latitude, goal.longitude)
    ).meters
    return metres


def way_m(origin: Point, goal: Point, detour_factor: float = DETOUR.value) -> int:
    """Way between two places [m], rounded up: geodesic distance times the detour factor, and
    never shorter than the straight line."""
    finite(detour_factor, "The detour factor", "times", low=1, high=5)
    straight_m = geodesic_m(origin, goal)
    # Rounding takes the product's float noise off; alone it would lose a last micrometre too.
    return max(math.ceil(round(straight_m * detour_factor, 6)), math.ceil(straight_m))


def sphere_m(origins: Sequence[Point], goals: Sequence[Point]) -> npt.NDArray[np.float64]:
    """Great-circle distances [m] from every origin to every goal by the haversine formula: at
    most 0.56 % off the ellipsoid, and quick for many."""
    here = np.radians([(point.latitude, point.longitude) for point in origins])[:, None, :]
    there = np.radians([(point.latitude, point.longitude) for point in goals])[None, :, :]
    half_chord = (
        np.sin((here[..., 0] - there[..., 0]) / 2) ** 2
        + np.cos(here[..., 0])
        * np.cos(there[..., 0])
        * np.sin((here[..., 1] - there[..., 1]) / 2) ** 2
    )
    return np.asarray(2 * SPHERE_M * np.arcsin(np.sqrt(np.clip(half_chord, 0, 1))))


def travel_minutes(distance_m: int, mode: str = "on_foot") -> int:
    """Minutes for ``distance_m``, rounded up, at the planning speed of ``mode``."""
    whole(distance_m, "The way", "metres")
    return math.ceil(round(distance_m / SPEED_M_PER_S[mode].value / 60, 6))
