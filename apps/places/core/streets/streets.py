"""Shortest ways along the streets of one network, by one way of moving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.sparse import csgraph
from scipy.spatial import cKDTree

from apps.kernel.figures import Figure
from apps.places.core.distance import Point
from apps.places.core.streets.network import (
    Floats,
    Ints,
    Network,
    distance_m,
    metres_per_radian,
    use_bits,
)
from apps.places.core.streets.tags import Mode

SNAP_LIMIT = Figure(
    150,
    "m",
    "Across a courtyard or half a large block; a place farther from every street is most likely "
    "outside of the extract",
    "assumed",
)
"""How far a place may lie from the street it is reached by."""

STEP_M = 25.0
"""Distance between the marks along streets by which near ones are found."""
CORNER_M = 0.01
"""So near to the end of a stretch is at its corner."""
AT_ONCE = 64
"""Starts that are searched from together; bounds the memory to 64 rows of distances."""


@dataclass(frozen=True, eq=False)
class Snapped:
    """Points on the streets. `stretch` is the index of a kept stretch, -1 off the network;
    `along` the part of it before the point (0-1), `off_m` the way from the point to it [m]."""

    stretch: Ints
    along: Floats
    off_m: Floats

    @property
    def is_on(self) -> npt.NDArray[np.bool_]:
        """Whether each point reached a street."""
        return self.stretch >= 0


class Streets:
    """The largest part of a network in which everybody gets from everywhere to everywhere.

    Making one is O(n log n) for n stretches; a row of ways costs O(n log n) too (Dijkstra 1959,
    by scipy).
    """

    def __init__(self, network: Network, mode: Mode) -> None:
        along, against = use_bits(mode)
        use, count = network.use, len(network.latitude)
        self.mode = mode
        self._latitude, self._longitude = network.latitude, network.longitude
        length = np.maximum(network.length_m, 1e-6)  # a stored zero would mean "no stretch"
        ends = np.stack([network.start, network.end], axis=1).astype(np.int64)
        there, back = (use & along) > 0, (use & against) > 0
        part = _largest_part(ends, there, back, count)
        kept = np.flatnonzero((there | back) & part[ends].all(axis=1))
        self._ends, self._length = ends[kept], length[kept]
        self._there, self._back = there[kept], back[kept]
        self._count = count

    @property
    def length_m(self) -> float:
        """All kept stretches together [m]."""
        return float(self._length.sum())

    @property
    def is_empty(self) -> bool:
        """No stretch is open to this mode."""
        return len(self._ends) == 0

    @cached_property
    def graph(self) -> sparse.csr_array:
        """Lengths [m] between neighbouring points, one row and column for each."""
        return _graph(*self._arcs(), self._count)

    def snap(self, points: Sequence[Point], limit_m: float = SNAP_LIMIT.value) -> Snapped:
        """The nearest point of a street for each point, if there is one within `limit_m`."""
        stretch = np.full(len(points), -1)
        along, off_m = np.zeros(len(points)), np.full(len(points), np.inf)
        if len(points) and not self.is_empty:
            here = self._plane(
                np.array([p.latitude for p in points]), np.array([p.longitude for p in points])
            )
            marks, owner = self._marks
            nearest_m, _ = marks.query(here)
            for index in np.flatnonzero(nearest_m <= limit_m + STEP_M):
                near = marks.query_ball_point(here[index], nearest_m[index] + STEP_M / 2 + 1e-6)
                among = np.unique(owner[near])
                parts, away = self._project(among, here[index])
                best = int(np.argmin(away))
                if away[best] <= limit_m:
                    stretch[index], along[index] = among[best], parts[best]
                    off_m[index] = away[best]
        return Snapped(stretch, along, off_m)

    def ways_m(
        self, origins: Snapped, goals: Snapped, limit_m: float = np.inf
    ) -> npt.NDArray[np.float64]:
        """Ways [m] from every origin (rows) to every goal (columns), the way from the door to
        the street included; infinite off the network and beyond `limit_m`."""
        ways = np.full((len(origins.stretch), len(goals.stretch)), np.inf)
        rows, columns = np.flatnonzero(origins.is_on), np.flatnonzero(goals.is_on)
        if not len(rows) or not len(columns):
            return ways
        both = Snapped(
            np.concatenate([origins.stretch[rows], goals.stretch[columns]]),
            np.concatenate([origins.along[rows], goals.along[columns]]),
            np.concatenate([origins.off_m[rows], goals.off_m[columns]]),
        )
        graph, nodes = self._with_points(both)
        starts, ends = nodes[: len(rows)], nodes[len(rows) :]
        for at in range(0, len(rows), AT_ONCE):
            some = slice(at, at + AT_ONCE)
            found = csgraph.dijkstra(graph, indices=starts[some], limit=limit_m)
            ways[np.ix_(rows[some], columns)] = found[:, ends]
        ways += origins.off_m[:, None] + goals.off_m[None, :]
        ways[ways > limit_m] = np.inf
        return ways

    def course(self, stops: Snapped) -> list[Floats]:
        """The points (latitude, longitude) of the shortest way from each stop to the next; empty
        where one of the two is off the network."""
        rows = np.flatnonzero(stops.is_on)
        courses = [np.empty((0, 2)) for _ in range(len(stops.stretch) - 1)]
        if len(rows) < 2:
            return courses
        kept = Snapped(stops.stretch[rows], stops.along[rows], stops.off_m[rows])
        graph, nodes = self._with_points(kept)
        _, before = csgraph.dijkstra(graph, indices=nodes, return_predecessors=True)
        where = self._points_with(kept)
        for at in range(len(rows) - 1):
            if rows[at + 1] == rows[at] + 1:
                way = [nodes[at + 1]]
                while way[-1] != nodes[at]:
                    way.append(before[at, way[-1]])
                courses[rows[at]] = where[np.array(way[::-1])]
        return courses

    @cached_property
    def _middle(self) -> tuple[float, float, float, float]:
        latitude = float(self._latitude[self._ends].mean())
        north, east = metres_per_radian(latitude)
        return latitude, float(self._longitude[self._ends].mean()), float(north), float(east)

    def _plane(self, latitude: Floats, longitude: Floats) -> Floats:
        """Metres north and east of the middle; only for finding what is near."""
        at_lat, at_lon, north, east = self._middle
        return np.stack(
            [np.radians(latitude - at_lat) * north, np.radians(longitude - at_lon) * east], axis=1
        )

    @cached_property
    def _lines(self) -> tuple[Floats, Floats]:
        points = self._plane(self._latitude, self._longitude)
        return points[self._ends[:, 0]], points[self._ends[:, 1]]

    @cached_property
    def _marks(self) -> tuple[cKDTree, Ints]:
        """Marks along every stretch, at most `STEP_M` apart, and whose they are."""
        start, end = self._lines
        pieces = np.maximum(np.ceil(self._length / STEP_M).astype(np.int64), 1)
        owner = np.repeat(np.arange(len(pieces)), pieces + 1)
        first = np.cumsum(pieces + 1) - (pieces + 1)
        part = (np.arange(len(owner)) - first[owner]) / pieces[owner]
        marks = start[owner] + part[:, None] * (end[owner] - start[owner])
        return cKDTree(marks), owner

    def _project(self, among: Ints, here: Floats) -> tuple[Floats, Floats]:
        """Nearest part (0-1) of each stretch to a point, and how far it is [m]."""
        start, end = self._lines
        line = end[among] - start[among]
        square = np.maximum((line**2).sum(axis=1), 1e-12)
        part = np.clip(((here - start[among]) * line).sum(axis=1) / square, 0, 1)
        return part, np.hypot(*(start[among] + part[:, None] * line - here).T)

    def _arcs(self) -> tuple[Ints, Ints, Floats]:
        starts, ends = self._ends[:, 0], self._ends[:, 1]
        return (
            np.concatenate([starts[self._there], ends[self._back]]),
            np.concatenate([ends[self._there], starts[self._back]]),
            np.concatenate([self._length[self._there], self._length[self._back]]),
        )

    def _points_with(self, points: Snapped) -> Floats:
        """Latitude and longitude of the network's points, then of those added to it, in the
        order in which `_with_points` numbers them."""
        own = np.stack([self._latitude, self._longitude], axis=1)
        order = np.lexsort((points.along, points.stretch))
        start, end = (own[self._ends[points.stretch[order], side]] for side in (0, 1))
        return np.concatenate([own, _along(start, end, points.along[order])])

    def _with_points(self, points: Snapped) -> tuple[sparse.csr_array, Ints]:
        """The graph with a node more for each point, in a chain along its stretch."""
        order = np.lexsort((points.along, points.stretch))
        stretch, along = points.stretch[order], points.along[order]
        nodes = self._count + np.arange(len(order))
        first = np.r_[True, stretch[1:] != stretch[:-1]]
        last = np.r_[first[1:], True]
        before = np.where(first, self._ends[stretch, 0], np.r_[0, nodes[:-1]])
        since = np.where(first, 0.0, np.r_[0.0, along[:-1]])
        links = (
            np.concatenate([before, nodes[last]]),
            np.concatenate([nodes, self._ends[stretch[last], 1]]),
            np.concatenate([along - since, 1 - along[last]]),
            np.concatenate([stretch, stretch[last]]),
        )
        start, end, part, of = links
        length = np.maximum(part * self._length[of], 1e-9)
        # Who stands at a corner may leave by every street, also where one of them is one-way.
        is_corner = length <= CORNER_M
        there, back = self._there[of] | is_corner, self._back[of] | is_corner
        base = self._arcs()
        graph = _graph(
            np.concatenate([base[0], start[there], end[back]]),
            np.concatenate([base[1], end[there], start[back]]),
            np.concatenate([base[2], length[there], length[back]]),
            self._count + len(order),
        )
        back_to = np.empty(len(order), dtype=np.int64)
        back_to[order] = nodes
        return graph, back_to


def _along(start: Floats, end: Floats, part: Floats) -> Floats:
    return np.asarray(start + part[:, None] * (end - start))


def straight_m(origins: Sequence[Point], goals: Sequence[Point]) -> npt.NDArray[np.float64]:
    """Straight lines [m] from every origin to every goal, measured as streets are."""
    here = np.array([(p.latitude, p.longitude) for p in origins]).reshape(-1, 2)
    there = np.array([(p.latitude, p.longitude) for p in goals]).reshape(-1, 2)
    return distance_m(here[:, None, 0], here[:, None, 1], there[None, :, 0], there[None, :, 1])


def _graph(starts: Ints, ends: Ints, length: Floats, count: int) -> sparse.csr_array:
    """Of parallel stretches the shortest counts."""
    order = np.lexsort((length, ends, starts))
    starts, ends, length = starts[order], ends[order], length[order]
    if len(starts):
        is_first = np.r_[True, (starts[1:] != starts[:-1]) | (ends[1:] != ends[:-1])]
        starts, ends, length = starts[is_first], ends[is_first], length[is_first]
    return sparse.csr_array((length, (starts, ends)), shape=(count, count))


def _largest_part(
    ends: Ints, there: npt.NDArray[np.bool_], back: npt.NDArray[np.bool_], count: int
) -> npt.NDArray[np.bool_]:
    """Points of the largest strongly connected component; of equal ones the first."""
    starts = np.concatenate([ends[there, 0], ends[back, 1]])
    goals = np.concatenate([ends[there, 1], ends[back, 0]])
    graph = _graph(starts, goals, np.ones(len(starts)), count)
    _, label = csgraph.connected_components(graph, directed=True, connection="strong")
    return np.asarray(label == np.argmax(np.bincount(label)))
