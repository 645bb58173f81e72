"""The streets around one place, with a pin that a script can move."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.places.core.distance import Point
from apps.places.core.streets.network import Network
from apps.web.charts import svg
from apps.web.charts.map_frame import Frame, frame_around
from apps.web.charts.plain_map import ground, scale

AROUND_M = 500.0
"""Metres across that a picture around a single place shows."""


@dataclass(frozen=True, slots=True)
class PinMap:
    """The picture, and the frame by which a point of it is turned into degrees."""

    picture: SafeString
    frame: Frame


def draw_pin_map(
    pin: Point | None, others: list[Point], streets: Network | None, *, says: str, credit: str
) -> PinMap | None:
    """Around the pin, else around the `others` (or the streets); None when nothing is known."""
    if pin is not None:
        frame = frame_around([(pin.latitude, pin.longitude)], AROUND_M)
    elif others:
        frame = frame_around([(each.latitude, each.longitude) for each in others], AROUND_M)
    elif streets is not None:
        south, west, north, east = streets.box
        frame = frame_around([(south, west), (north, east)], AROUND_M)
    else:
        return None
    parts = ground(frame, streets, credit)
    parts += [
        svg.rect(x - 4, y - 4, 8, 8, "c-box")
        for x, y in (_units(frame, each) for each in others)
        if 0 < x < frame.wide and 0 < y < frame.tall
    ]
    x, y = _units(frame, pin) if pin is not None else (-99.0, -99.0)
    parts.append(
        svg.element(
            "path",
            d="M0 0l-9 -20a10 10 0 1 1 18 0z",
            class_="c-pin",
            transform=f"translate({svg.shown(x)} {svg.shown(y)})",
        )
    )
    parts += scale(frame)
    return PinMap(svg.picture(frame.wide, frame.tall, parts, kind="map pin-map", says=says), frame)


def _units(frame: Frame, point: Point) -> tuple[float, float]:
    return frame.east_units(point.longitude), frame.south_units(point.latitude)
