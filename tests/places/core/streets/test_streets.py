"""Ways along streets, against networkx on a real town and by hand on a small one."""

from __future__ import annotations

from functools import cache

import networkx as nx
import numpy as np
import pytest

from apps.places.core.distance import Point, geodesic_m
from apps.places.core.streets.network import distance_m
from apps.places.core.streets.read_extract import read_extract
from apps.places.core.streets.streets import Streets, straight_m
from apps.places.core.streets.tags import Mode
from tests.places.extracts import EARTH, extract_of, helsinki, second_reading

M = 1 / 111_412
"""Degrees of latitude in a metre at 60° north (WGS 84, by the radius of curvature)."""


@cache
def _streets(mode: Mode) -> Streets:
    return Streets(read_extract(helsinki()).network, mode)


@pytest.mark.parametrize("mode", ["foot", "bicycle"])
def test_ways_are_those_of_networkx(mode: Mode) -> None:
    """Reference: networkx Dijkstra over a second reading of the file, lengths by pyproj."""
    graph = second_reading(mode)
    chance = np.random.default_rng(7)
    nodes = sorted(graph)
    origins, goals = chance.choice(nodes, 15, replace=False), chance.choice(nodes, 25)
    streets = _streets(mode)
    here, there = (
        streets.snap([Point(*graph.nodes[node]["place"]) for node in some])
        for some in (origins.tolist(), goals.tolist())
    )
    assert here.is_on.all()
    assert here.off_m.max() < 0.001
    ways = streets.ways_m(here, there)
    expected = []
    for node in origins.tolist():
        lengths = nx.single_source_dijkstra_path_length(graph, node)
        expected.append([lengths[goal] for goal in goals.tolist()])
    assert ways == pytest.approx(np.array(expected), rel=1e-6, abs=0.002)
    assert np.median(expected) > 300
    if mode == "bicycle":
        assert not np.allclose(streets.ways_m(there, there), streets.ways_m(there, there).T)


def test_stretches_are_as_long_as_geodesics() -> None:
    """Reference: geodesics by pyproj (Karney 2013)."""
    chance = np.random.default_rng(3)
    for latitude in (-60.0, 0.5, 15.0, 45.0, 70.0):
        there = latitude + chance.uniform(-0.01, 0.01, 50)
        aside = chance.uniform(-0.01, 0.01, 50)
        _, _, expected = EARTH.inv(np.zeros(50), np.full(50, latitude), aside, there)
        assert distance_m(latitude, 0, there, aside) == pytest.approx(expected, rel=1e-6)


LADDER = {
    # Two rails 100 m apart from south to north, rungs at both ends; the western one is one way.
    1: (60.0, 25.0), 2: (60.0 + 100 * M, 25.0), 3: (60.0, 25.0 + 200 * M),
    4: (60.0 + 100 * M, 25.0 + 200 * M), 5: (60.01, 25.1), 6: (60.0101, 25.1),
}  # fmt: skip


def _ladder(mode: Mode, **rung: str) -> Streets:
    street = {"highway": "residential"}
    data = extract_of(
        LADDER,
        [
            ([1, 2], {**street, "oneway": "yes"}),
            ([3, 4], street),
            ([1, 3], street),
            ([2, 4], {**street, **rung}),
            ([5, 6], street),
        ],
    )
    return Streets(read_extract(data).network, mode)


def _way(streets: Streets, origin: Point, goal: Point) -> float:
    return float(streets.ways_m(streets.snap([origin]), streets.snap([goal]))[0, 0])


FIRST, SECOND = Point(60.0 + 20 * M, 25.0), Point(60.0 + 70 * M, 25.0)
AROUND = 2 * (200 * np.cos(np.radians(60)) + 100)
"""The whole ladder; a degree of longitude is half as long at 60° north."""


def test_two_points_on_one_stretch_go_along_it() -> None:
    assert _way(_ladder("foot"), FIRST, SECOND) == pytest.approx(50, rel=0.002)
    assert _way(_ladder("foot"), SECOND, FIRST) == pytest.approx(50, rel=0.002)


def test_a_bicycle_goes_around_a_one_way_street() -> None:
    streets = _ladder("bicycle")
    assert _way(streets, FIRST, SECOND) == pytest.approx(50, rel=0.002)
    assert _way(streets, SECOND, FIRST) == pytest.approx(AROUND - 50, rel=0.005)


def test_from_a_corner_every_street_may_be_taken() -> None:
    """Also where the nearest stretch is a one-way street that only comes in."""
    streets = _ladder("bicycle")
    assert _way(streets, Point(*LADDER[2]), Point(*LADDER[1])) == pytest.approx(
        AROUND - 100, rel=0.005
    )
    assert _way(streets, Point(*LADDER[1]), Point(*LADDER[3])) == pytest.approx(100, rel=0.005)


def test_a_course_is_as_long_as_its_way_and_passes_only_streets() -> None:
    streets = _streets("foot")
    chance = np.random.default_rng(4)
    stops = streets.snap(
        [
            Point(float(a), float(b))
            for a, b in zip(chance.uniform(60.166, 60.177, 8), chance.uniform(24.937, 24.951, 8),
                            strict=True)
        ]
    )  # fmt: skip
    ways = streets.ways_m(stops, stops) - stops.off_m[:, None] - stops.off_m[None, :]
    courses = streets.course(stops)
    assert len(courses) == 7
    for at, course in enumerate(courses):
        steps = distance_m(course[:-1, 0], course[:-1, 1], course[1:, 0], course[1:, 1])
        assert steps.sum() == pytest.approx(ways[at, at + 1], rel=1e-6)
    off = streets.snap([Point(60.17, 24.94), Point(10.0, 10.0), Point(60.17, 24.94)])
    assert [len(course) for course in streets.course(off)] == [0, 0]


def test_a_cart_goes_around_steps() -> None:
    corner, other = Point(*LADDER[2]), Point(*LADDER[4])
    steps = _ladder("cart", highway="steps")
    assert _way(_ladder("foot", highway="steps"), corner, other) == pytest.approx(100, rel=0.005)
    assert _way(steps, corner, other) == pytest.approx(AROUND - 100, rel=0.005)


def test_the_way_to_the_street_counts_and_has_a_limit() -> None:
    streets = _ladder("foot")
    garden = Point(60.0 + 20 * M, 25.0 - 80 * M)
    assert _way(streets, garden, SECOND) == pytest.approx(50 + 40, rel=0.005)
    far = Point(60.0 + 20 * M, 25.0 - 400 * M)
    assert not streets.snap([far]).is_on[0]
    assert np.isinf(_way(streets, far, SECOND))
    assert streets.snap([far], limit_m=250).is_on[0]


def test_streets_that_nobody_can_reach_are_left_out() -> None:
    assert not _ladder("foot").snap([Point(*LADDER[5])]).is_on[0]


def test_a_limit_leaves_out_longer_ways_and_changes_no_other() -> None:
    streets = _streets("foot")
    chance = np.random.default_rng(1)
    points = [
        Point(float(a), float(b))
        for a, b in zip(chance.uniform(60.166, 60.177, 12), chance.uniform(24.937, 24.951, 12),
                        strict=True)
    ]  # fmt: skip
    snapped = streets.snap(points)
    every, near = streets.ways_m(snapped, snapped), streets.ways_m(snapped, snapped, 700)
    assert np.array_equal(near, np.where(every <= 700, every, np.inf))
    assert every == pytest.approx(every.T)
    assert geodesic_m(points[0], points[1]) == pytest.approx(straight_m(points, points)[0, 1])


def test_no_street_at_all_reaches_nothing() -> None:
    data = extract_of(LADDER, [([1, 3], {"highway": "steps"}), ([2, 4], {"highway": "cycleway"})])
    network = read_extract(data).network
    ridden = Streets(network, "bicycle")
    assert not ridden.snap([Point(*LADDER[1])], limit_m=50).is_on[0]
    assert Streets(network, "cart").snap([Point(*LADDER[2])]).is_on[0]
