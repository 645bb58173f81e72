"""Generalised assignment as planning: the mapping is exact, and known optima are reached.

Sources of instances and optima: tests/data/gap/README.md.
"""

from __future__ import annotations

import pytest

from apps.planning.core.export import plan_document
from apps.planning.core.problem import Placement
from apps.planning.core.result import WISHES, Feed
from apps.planning.core.solve import Limits, solve
from apps.planning.verifier import verify
from tests.planning.gap import (
    BATCH_G,
    GapInstance,
    carrying_of,
    gap_problem,
    gap_value,
    read_gap,
)
from tests.planning.small_plan import result_of

SMALL = [instance for name in ("gap1", "gap12", "c05100") for instance in read_gap(name)]
CARRYING = [name for name, _ in WISHES].index("carrying_g_m")

TOY = GapInstance(
    name="toy",
    maximise=False,
    costs=((1, 5, 4), (3, 2, 9)),
    loads=((4, 3, 3), (5, 2, 7)),
    capacities=(7, 3),
    best=7,
)
"""By hand: agent 1 (capacity 3) can only do job 1 (load 2); jobs 0 and 2 fill agent 0 to 7 of
7 at 1 + 4; in all 1 + 2 + 4 = 7."""


def test_known_sizes_are_read() -> None:
    """Sizes as on OR-Library's page (gap1 5 x 15, gap12 10 x 60) and in the names of the rest."""
    sizes = {
        name: [(len(each.capacities), each.jobs) for each in read_gap(name)]
        for name in ("gap1", "gap12", "c05100", "c10200", "d10100", "d20200", "e10100", "e20200")
    }
    assert sizes == {
        "gap1": [(5, 15)] * 5,
        "gap12": [(10, 60)] * 5,
        "c05100": [(5, 100)],
        "c10200": [(10, 200)],
        "d10100": [(10, 100)],
        "d20200": [(20, 200)],
        "e10100": [(10, 100)],
        "e20200": [(20, 200)],
    }


def test_an_assignment_keeps_its_value_as_a_plan() -> None:
    problem = gap_problem(TOY)
    placements = tuple(
        Placement(f"J00{job}", f"A00{agent}", 0, BATCH_G) for job, agent in enumerate((0, 1, 0))
    )
    feeds = tuple(Feed(each.digester, 0, each.batch, each.amount_g) for each in placements)
    result = result_of(problem, placements, feeds)
    assert verify(plan_document(problem, result)) == []
    assert gap_value(TOY, result) == 7
    assert result.wishes[CARRYING].value == carrying_of(TOY, 7)


def test_an_overfull_agent_is_a_violation_by_its_load() -> None:
    """Job 2 weighs 7 at agent 1, which with job 1 (2) has room for 3: 6 too much."""
    problem = gap_problem(TOY)
    placements = tuple(
        Placement(f"J00{job}", f"A00{agent}", 0, BATCH_G) for job, agent in enumerate((0, 1, 1))
    )
    feeds = tuple(Feed(each.digester, 0, each.batch, each.amount_g) for each in placements)
    result = result_of(problem, placements, feeds)
    assert gap_value(TOY, result) is None
    over = [each for each in verify(plan_document(problem, result)) if each.rule == "plan_feed"]
    scale = problem.digesters[0].caps[0].feed_g // TOY.capacities[0]
    assert [each.figure for each in over] == [6 * scale]


def test_the_toy_is_solved() -> None:
    result = solve(gap_problem(TOY))
    assert gap_value(TOY, result) == 7


@pytest.mark.parametrize("instance", SMALL, ids=lambda instance: instance.name)
def test_known_optima_are_reached(instance: GapInstance) -> None:
    problem = gap_problem(instance)
    result = solve(problem)
    assert gap_value(instance, result) == instance.best
    assert verify(plan_document(problem, result)) == []


OWN = [*read_gap("gap1"), *read_gap("c05100")]


@pytest.mark.parametrize("instance", OWN, ids=lambda instance: instance.name)
def test_our_own_decomposition_reaches_optima_without_the_whole_model(
    instance: GapInstance,
) -> None:
    problem = gap_problem(instance)
    result = solve(problem, limits=Limits(monolith=False, bounds=False))
    assert gap_value(instance, result) == instance.best
    assert verify(plan_document(problem, result)) == []
