"""Who is in reach of whom follows the group's streets once it has some."""

from __future__ import annotations

from apps.planning.queries.build_problem import build_problem
from apps.planning.queries.destinations import core_destinations, group_destinations
from tests.cast import Cast
from tests.places.extracts import harbour
from tests.places.operations.test_import_streets import bring_in


def test_a_problem_goes_by_streets(cast: Cast) -> None:
    straight = build_problem(cast.group, cast.today, 2)
    bring_in(cast, harbour())
    streets = build_problem(cast.group, cast.today, 2)
    pair = ("quay-stall", "duarte-drum")
    assert straight.distances_m[pair] == 242
    assert streets.distances_m[pair] == 257
    cast.group.reach_m = 256
    assert pair not in build_problem(cast.group, cast.today, 2).distances_m
    [yard] = core_destinations(streets, group_destinations(cast.group))
    # 500 m east and 300 m south; 0.000012 degrees of longitude are 1.046 m there.
    assert abs(yard.distance_m["quay-stall"] - (523 + 300)) <= 3
