"""Streets as arrays: points, and stretches between neighbouring points."""

from __future__ import annotations

import io
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from apps.places.core.streets.tags import MODES, Mode

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

SEMI_MAJOR_M = 6_378_137.0
FLATTENING = 1 / 298.257223563
_E2 = FLATTENING * (2 - FLATTENING)
"""WGS 84 (NIMA TR8350.2)."""


@dataclass(frozen=True, eq=False)
class Network:
    """Points (latitude, longitude) [degrees] and stretches from `start` to `end` (indices of
    points) in the order in which they were drawn; `use` has two bits a mode: open as drawn, open
    against it. `width` is 2 for a main street, 1 for a street, 0 for a path or steps."""

    latitude: Floats
    longitude: Floats
    start: npt.NDArray[np.int32]
    end: npt.NDArray[np.int32]
    use: npt.NDArray[np.uint8]
    width: npt.NDArray[np.uint8]

    @property
    def length_m(self) -> Floats:
        """Of each stretch [m]."""
        return distance_m(
            self.latitude[self.start],
            self.longitude[self.start],
            self.latitude[self.end],
            self.longitude[self.end],
        )

    @property
    def box(self) -> tuple[float, float, float, float]:
        """South, west, north and east of the stretches [degrees]."""
        drawn = np.unique([self.start, self.end])
        north, east = self.latitude[drawn], self.longitude[drawn]
        return float(north.min()), float(east.min()), float(north.max()), float(east.max())


def use_bits(mode: Mode) -> tuple[int, int]:
    """The bits of `Network.use` for along and against."""
    place = 2 * MODES.index(mode)
    return 1 << place, 2 << place


def distance_m(
    latitude: npt.ArrayLike, longitude: npt.ArrayLike, other: npt.ArrayLike, others: npt.ArrayLike
) -> Floats:
    """Straight distances [m] between near points, element by element: the plane of WGS 84's
    two radii of curvature at the middle latitude. Within 1e-6 of the geodesic up to 10 km
    away from the poles; streets are drawn more coarsely than that."""
    north, east = metres_per_radian((np.asarray(latitude) + np.asarray(other)) / 2)
    up = np.radians(np.asarray(other) - np.asarray(latitude)) * north
    right = np.radians(np.asarray(others) - np.asarray(longitude)) * east
    return np.asarray(np.hypot(up, right))


def metres_per_radian(latitude: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Metres to the north and to the east of a radian, at a latitude [degrees]."""
    angle = np.radians(latitude)
    bend = 1 - _E2 * np.sin(angle) ** 2
    return (
        np.asarray(SEMI_MAJOR_M * (1 - _E2) / bend**1.5),
        np.asarray(SEMI_MAJOR_M / np.sqrt(bend) * np.cos(angle)),
    )


def pack_network(network: Network) -> bytes:
    """Compressed, to be stored."""
    out = io.BytesIO()
    np.savez_compressed(out, **{each.name: getattr(network, each.name) for each in fields(Network)})
    return out.getvalue()


def unpack_network(data: bytes) -> Network:
    """What `pack_network` made."""
    with np.load(io.BytesIO(data), allow_pickle=False) as arrays:
        return Network(**{each.name: arrays[each.name] for each in fields(Network)})
