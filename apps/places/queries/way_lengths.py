"""How far a group's places are from each other: along its streets, or, without streets,
straight lines times the group's detour factor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from apps.groups.models import Group
from apps.places.core.distance import Point, sphere_m, way_m
from apps.places.core.streets.streets import straight_m
from apps.places.core.streets.tags import Mode
from apps.places.models import Place
from apps.places.queries.street_maps import ATTRIBUTION, StreetMap, street_map

PPM = 1_000_000
TOO_FAR_M = np.iinfo(np.int64).max
"""Stands for a way beyond the limit that was asked for."""
MOST_KEPT = 250_000
"""Cells of a table that is kept in memory; 16 of them are 32 MB."""
SPHERE_ERROR = 0.006
"""A sphere is at most 0.56 % off the WGS 84 ellipsoid."""


@dataclass(frozen=True, eq=False)
class WayLengths:
    """Whole metres, rounded up, from every origin (rows) to every goal (columns): walking and
    cart ways are the same both ways, bicycle ways need not be. `along_streets` says of each
    whether it was measured along streets; the others are straight lines times
    `detour_factor`."""

    metres: npt.NDArray[np.int64]
    along_streets: npt.NDArray[np.bool_]
    by: Mode
    detour_factor: float
    has_streets: bool

    @property
    def attribution(self) -> str:
        """To be shown beside the figures; empty when no street was used."""
        return ATTRIBUTION if bool(self.along_streets.any()) else ""


def way_lengths_m(
    group: Group,
    origins: Sequence[Place],
    goals: Sequence[Place] | None = None,
    *,
    by: Mode = "foot",
    limit_m: int | None = None,
) -> WayLengths:
    """Ways between a group's places; without `goals` from each of `origins` to each.

    A way starts and ends at the doors: from the place straight to its nearest street, along
    streets, and straight to the other place. A place farther than `SNAP_LIMIT` from every
    street open to `by` is off the network: its ways are straight lines times the detour factor.
    With `limit_m`, longer ways are `TOO_FAR_M`, and cost less. At most two queries.
    """
    here, there = _points(origins), _points(origins if goals is None else goals)
    streets = street_map(group)
    factor = group.detour_ppm / PPM
    metres = np.full((len(here), len(there)), TOO_FAR_M)
    ways = _street_ways(streets, by, here, there, limit_m)
    is_off = np.isnan(ways)
    along = np.isfinite(ways)
    metres[along] = np.ceil(np.round(ways[along], 6)).astype(np.int64)
    for row, column in np.argwhere(is_off & _within(here, there, factor, limit_m)):
        metres[row, column] = way_m(here[row], there[column], factor)
    if limit_m is not None:
        metres[metres > limit_m] = TOO_FAR_M
    return WayLengths(metres, along, by, factor, streets is not None)


def _street_ways(
    streets: StreetMap | None,
    by: Mode,
    here: tuple[Point, ...],
    there: tuple[Point, ...],
    limit_m: int | None,
) -> npt.NDArray[np.float64]:
    """NaN where a straight line must do, infinite beyond the limit."""
    if streets is None or not here or not there:
        return np.full((len(here), len(there)), np.nan)
    is_small = len(here) * len(there) <= MOST_KEPT
    measure = _measured if is_small else _measured.__wrapped__
    return measure(streets, by, here, there, limit_m)


@lru_cache(maxsize=16)
def _measured(
    streets: StreetMap,
    by: Mode,
    here: tuple[Point, ...],
    there: tuple[Point, ...],
    limit_m: int | None,
) -> npt.NDArray[np.float64]:
    """Kept for each extract and set of points, so that a plan, its preview and its rounds
    measure once."""
    graph = streets.streets(by)
    origins, goals = graph.snap(here), graph.snap(there)
    ways = graph.ways_m(origins, goals, np.inf if limit_m is None else limit_m + 1)
    # Two doors on one street may be nearer than their ways to it and along it say; never nearer
    # than the straight line.
    straight = straight_m(here, there)
    ways = np.where(straight == 0, 0, np.maximum(ways, straight))
    ways[~origins.is_on, :] = np.nan
    ways[:, ~goals.is_on] = np.nan
    ways.flags.writeable = False
    return ways


def _within(
    here: tuple[Point, ...], there: tuple[Point, ...], factor: float, limit_m: int | None
) -> npt.NDArray[np.bool_]:
    """Sorts out the far ones first, so that thousands of pairs cost little."""
    if limit_m is None or not here or not there:
        return np.full((len(here), len(there)), True)
    return sphere_m(here, there) <= limit_m / factor * (1 + SPHERE_ERROR)


def _points(places: Sequence[Place]) -> tuple[Point, ...]:
    return tuple(Point(float(place.latitude), float(place.longitude)) for place in places)


def way_courses(
    group: Group, points: Sequence[Point], *, by: Mode = "foot"
) -> list[list[tuple[float, float]]]:
    """For a picture: the points (latitude, longitude) of the way along streets from each of
    `points` to the next; empty where there is none."""
    streets = street_map(group)
    if streets is None or len(points) < 2:
        return [[] for _ in points[1:]]
    graph = streets.streets(by)
    return [[(lat, lon) for lat, lon in each.tolist()] for each in graph.course(graph.snap(points))]
