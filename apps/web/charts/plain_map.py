"""A map without tiles: sources, homes and destinations as shapes over the group's own streets,
north up, with a scale bar."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.places.core.streets.network import Network
from apps.web.charts import svg
from apps.web.charts.map_frame import EDGE, WIDTH, Frame, frame_around
from apps.web.charts.street_base import draw_streets

CLOSE = 32.0
"""Shapes nearer than this [units of the picture] would cover each other's numbers."""

PUSHES = 60
"""Rounds of moving them apart, at most."""

FEW, WIDER = 20, 960.0
"""More spots than so many stand on a picture that is so wide."""

SCALES_M = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000)

SHAPES = ("source", "home", "destination")


@dataclass(frozen=True, slots=True)
class Spot:
    """Something on the map. `number` stands beside it and in the list; `shape` is of SHAPES."""

    latitude: float
    longitude: float
    shape: str
    number: int
    is_warned: bool = False


@dataclass(frozen=True, slots=True)
class Link:
    """A walk between two spots, by their place in the sequence of spots; `course` are the points
    (latitude, longitude) between them along streets, none for a straight line."""

    start: int
    end: int
    course: tuple[tuple[float, float], ...] = ()


def draw_map(
    spots: Sequence[Spot],
    links: Sequence[Link] = (),
    *,
    says: str,
    streets: Network | None = None,
    credit: str = "",
) -> SafeString:
    """Squares are sources, circles homes, triangles destinations; a warned one wears a ring.
    `credit` names whoever made the `streets`."""
    if not spots:
        return svg.picture(WIDTH, 60, [], kind="map", says=says)
    is_wide = len(spots) > FEW
    frame = frame_around(
        [(spot.latitude, spot.longitude) for spot in spots], wide=WIDER if is_wide else WIDTH
    )
    points = _apart(
        [(frame.east_units(spot.longitude), frame.south_units(spot.latitude)) for spot in spots],
        frame,
    )
    parts = ground(frame, streets, credit)
    parts += [_link(link, points, frame) for link in links]
    parts += [_shape(spot, *point) for spot, point in zip(spots, points, strict=True)]
    parts += [
        svg.text(x, y - 12, str(spot.number), size=20, anchor="middle")
        for spot, (x, y) in zip(spots, points, strict=True)
    ]
    parts += scale(frame)
    kind = "map wide" if is_wide else "map"
    return svg.picture(frame.wide, frame.tall, parts, kind=kind, says=says)


def ground(frame: Frame, streets: Network | None, credit: str) -> list[SafeString]:
    """The streets, if there are any, and whose they are, in the upper right corner."""
    if streets is None:
        return []
    name = svg.text(frame.wide - 8, 18, credit, size=15, anchor="end", class_="soft")
    return [*draw_streets(streets, frame), name]


def _link(link: Link, points: Sequence[tuple[float, float]], frame: Frame) -> SafeString:
    if not link.course:
        return svg.line(*points[link.start], *points[link.end], "c-line")
    course = [(frame.east_units(lon), frame.south_units(lat)) for lat, lon in link.course]
    corners = [points[link.start], *course, points[link.end]]
    path = "M" + "L".join(f"{svg.shown(x)} {svg.shown(y)}" for x, y in corners)
    return svg.element("path", d=path, class_="c-way")


def _apart(points: list[tuple[float, float]], frame: Frame) -> list[tuple[float, float]]:
    """Spots that lie on one another, as in the middle of an area, stand in a ring around it;
    those that are still too near to each other move apart as far as they must."""
    together: dict[tuple[int, int], list[int]] = {}
    for index, (x, y) in enumerate(points):
        together.setdefault((round(x), round(y)), []).append(index)
    spread = list(points)
    for indices in together.values():
        radius = 0.0 if len(indices) == 1 else CLOSE * len(indices) / (2 * math.pi)
        for turn, index in enumerate(indices):
            angle = 2 * math.pi * turn / len(indices) - math.pi / 2
            x, y = points[index]
            spread[index] = (x + radius * math.cos(angle), y + radius * math.sin(angle))
    left, top, right, floor = EDGE / 2, EDGE * 0.75, frame.wide - EDGE / 2, frame.tall - EDGE / 2
    for _ in range(PUSHES):
        spread = [(min(max(x, left), right), min(max(y, top), floor)) for x, y in spread]
        if not _push(spread):
            break
    return spread


def _push(spread: list[tuple[float, float]]) -> bool:
    """Move each pair that is too near half of what is missing, once; whether any was."""
    cells: dict[tuple[int, int], list[int]] = {}
    for index, (x, y) in enumerate(spread):
        cells.setdefault((int(x // CLOSE), int(y // CLOSE)), []).append(index)
    is_moved = False
    for (column, row), members in cells.items():
        around = [
            other
            for across in (-1, 0, 1)
            for down in (-1, 0, 1)
            for other in cells.get((column + across, row + down), ())
        ]
        for one in members:
            for other in around:
                if one >= other:
                    continue
                (x, y), (u, v) = spread[one], spread[other]
                away = math.hypot(u - x, v - y)
                if away >= CLOSE - 0.5:
                    continue
                east, south = ((u - x) / away, (v - y) / away) if away else (1.0, 0.0)
                step = (CLOSE - away) / 2
                spread[one] = (x - east * step, y - south * step)
                spread[other] = (u + east * step, v + south * step)
                is_moved = True
    return is_moved


def _shape(spot: Spot, x: float, y: float) -> SafeString:
    ring = [svg.element("circle", cx=x, cy=y, r=15, class_="c-limit")] if spot.is_warned else []
    if spot.shape == "source":
        mark = svg.rect(x - 8, y - 8, 16, 16, "c-source")
    elif spot.shape == "home":
        mark = svg.element("circle", cx=x, cy=y, r=9, class_="c-home")
    else:
        mark = svg.element(
            "path", d=f"M{svg.shown(x)} {svg.shown(y)}m0 -11l11 19h-22z", class_="c-dest"
        )
    return svg.group([*ring, mark])


def scale(frame: Frame) -> list[SafeString]:
    """A bar of a round length, at most a third of the picture, and an arrow to the north."""
    longest = frame.wide / 3 * frame.metres_per_unit
    length_m = max([each for each in SCALES_M if each <= longest], default=SCALES_M[0])
    end = 20 + length_m / frame.metres_per_unit
    y = frame.tall - 14
    return [
        svg.element("path", d=f"M20 {svg.shown(y - 6)}v6H{svg.shown(end)}v-6", class_="c-rim-line"),
        svg.text(end + 10, y + 2, f"{length_m} m", size=17),
        svg.element(
            "path",
            d=f"M{svg.shown(frame.wide - 26)} {svg.shown(y - 22)}l9 22l-9 -6l-9 6z",
            class_="c-ink",
        ),
        svg.text(frame.wide - 44, y + 2, "N", size=17, anchor="end"),
    ]
