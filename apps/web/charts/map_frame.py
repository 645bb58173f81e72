"""Where a point of the earth stands on a picture: a plane around the middle of what is shown.

Equirectangular: good to a few metres over a neighbourhood, which is all a picture needs;
distances are computed elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH = 640.0
"""Of a picture that fits a phone held sideways; one with more on it may be wider."""
EDGE = 56.0
LEAST_TALL, MOST_TALL = 320.0, 760.0
METRES_PER_DEGREE = 111_320.0
"""Metres in a degree of latitude: 40 075 km / 360, WGS 84's equator."""


@dataclass(frozen=True, slots=True)
class Frame:
    """`west` and `north` [degrees] are the picture's upper left corner."""

    west: float
    north: float
    metres_per_unit: float
    metres_per_degree_east: float
    tall: float
    wide: float = WIDTH

    def east_units(self, longitude: float) -> float:
        """From the left edge."""
        return (longitude - self.west) * self.metres_per_degree_east / self.metres_per_unit

    def south_units(self, latitude: float) -> float:
        """From the upper edge."""
        return (self.north - latitude) * METRES_PER_DEGREE / self.metres_per_unit

    @property
    def degrees_east_per_unit(self) -> float:
        """For whoever turns a point of the picture into a place."""
        return self.metres_per_unit / self.metres_per_degree_east

    @property
    def degrees_south_per_unit(self) -> float:
        """Likewise, downwards."""
        return self.metres_per_unit / METRES_PER_DEGREE


def frame_around(
    points: Sequence[tuple[float, float]], least_m: float = 1.0, wide: float = WIDTH
) -> Frame:
    """The picture that shows all `points` (latitude, longitude) and at least `least_m` across,
    with an edge around them; `wide` in its own units."""
    middle = sum(latitude for latitude, _ in points) / len(points)
    across = METRES_PER_DEGREE * math.cos(math.radians(middle))
    east = [longitude * across for _, longitude in points]
    north = [latitude * METRES_PER_DEGREE for latitude, _ in points]
    wide_m, tall_m = max(east) - min(east), max(north) - min(north)
    metres = max(
        max(wide_m, least_m) / (wide - 2 * EDGE),
        max(tall_m, least_m / 2) / (MOST_TALL * wide / WIDTH - 2 * EDGE - 20),
    )
    tall = max(LEAST_TALL, tall_m / metres + 2 * EDGE + 20)
    left = (wide - wide_m / metres) / 2
    top = (tall - 20 - tall_m / metres) / 2
    return Frame(
        west=(min(east) - left * metres) / across,
        north=(max(north) + top * metres) / METRES_PER_DEGREE,
        metres_per_unit=metres,
        metres_per_degree_east=across,
        tall=tall,
        wide=wide,
    )
