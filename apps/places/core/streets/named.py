"""Things on the map that somebody may look for by name or address."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

_SKIPPED = ("boundary", "route", "railway", "power", "type")
"""Keys of things nobody carries a pail to."""


class Named(NamedTuple):
    """`name` may be empty for a bare address, `street` for a thing without one; [degrees]."""

    name: str
    street: str
    number: str
    latitude: float
    longitude: float
    is_street: bool


def name_of(tags: Mapping[str, str], points: Sequence[tuple[float, float]]) -> Named | None:
    """A street by its middle, anything else by the middle of its box."""
    name, number = tags.get("name", "")[:120], tags.get("addr:housenumber", "")[:20]
    street = (tags.get("addr:street") or tags.get("addr:place") or "")[:120]
    if not points or not (name or (street and number)) or any(key in tags for key in _SKIPPED):
        return None
    is_street = "highway" in tags and len(points) > 1
    if is_street:
        latitude, longitude = points[len(points) // 2]
    else:
        latitude, longitude = ((min(each) + max(each)) / 2 for each in zip(*points, strict=True))
    return Named(name, street, number, round(latitude, 6), round(longitude, 6), is_street)


def pack_names(names: Iterable[Named]) -> bytes:
    """Compressed, to be stored."""
    return zlib.compress(json.dumps(list(names), ensure_ascii=False).encode(), 6)


def unpack_names(data: bytes) -> tuple[Named, ...]:
    """What `pack_names` made."""
    return tuple(Named(*row) for row in json.loads(zlib.decompress(data)))
