"""Which sources and digesters are near enough to each other."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from apps.places.core.distance import Point, way_m

PPM = 1_000_000

SPHERE_M = 6_371_008.8
"""Mean radius of the earth (IUGG R1)."""

SPHERE_ERROR = 0.006
"""A sphere is at most 0.56 % off the WGS 84 ellipsoid."""


def pairs_within(
    sources: Mapping[str, Point], digesters: Mapping[str, Point], reach_m: int, detour_ppm: int
) -> dict[tuple[str, str], int]:
    """Way in metres by (source, digester), in the order of their codes.

    A sphere sorts out the far ones first, so that thousands of pairs cost little.
    """
    if not sources or not digesters:
        return {}
    limit_m = reach_m * PPM / detour_ppm * (1 + SPHERE_ERROR)
    near = _sphere_m(list(sources.values()), list(digesters.values())) <= limit_m
    codes, homes = list(sources), list(digesters)
    ways = {
        (codes[row], homes[column]): way_m(
            sources[codes[row]], digesters[homes[column]], detour_ppm / PPM
        )
        for row, column in np.argwhere(near)
    }
    return {pair: metres for pair, metres in sorted(ways.items()) if metres <= reach_m}


def _sphere_m(starts: list[Point], ends: list[Point]) -> npt.NDArray[np.float64]:
    """Great-circle distances by the haversine formula."""
    lat1, lon1 = _radians(starts)
    lat2, lon2 = _radians(ends)
    half_chord = (
        np.sin((lat1[:, None] - lat2[None, :]) / 2) ** 2
        + np.cos(lat1)[:, None]
        * np.cos(lat2)[None, :]
        * np.sin((lon1[:, None] - lon2[None, :]) / 2) ** 2
    )
    return np.asarray(2 * SPHERE_M * np.arcsin(np.sqrt(np.clip(half_chord, 0, 1))))


def _radians(points: list[Point]) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    degrees = np.array([(point.latitude, point.longitude) for point in points])
    return np.radians(degrees[:, 0]), np.radians(degrees[:, 1])
