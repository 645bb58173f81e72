"""Who stands by for a visit: held against every other home, one by one."""

from __future__ import annotations

from dataclasses import replace

from apps.planning.core.change import Change
from apps.planning.core.problem import Ban, Pin, Problem
from apps.planning.core.result import Result
from apps.planning.core.solve import Limits, solve
from apps.planning.core.what_if import what_if
from apps.planning.queries.second_homes import choose_second_homes, unsure_sources
from tests.planning.generator import make_problem


def planned() -> tuple[Problem, Result]:
    problem = make_problem(8, 6, 3)
    return problem, solve(problem, limits=Limits(work=0, bounds=False, monolith=False))


def test_a_source_is_unsure_from_a_fifth_of_at_least_five_visits() -> None:
    visits = {"often": (5, 1), "seldom": (6, 1), "new": (4, 4), "never": (40, 0)}
    assert unsure_sources(visits) == {"often"}


def test_the_nearest_home_that_can_take_all_of_it_stands_by() -> None:
    problem, result = planned()
    source_of = {batch.code: batch.source for batch in problem.batches}
    every = {batch.source for batch in problem.batches}
    chosen = choose_second_homes(problem, result, every)
    assert chosen, "the neighbourhood has room for at least one"
    assert choose_second_homes(problem, result, ()) == []
    for each in chosen:
        mine = [
            p
            for p in result.placements
            if (source_of[p.batch], p.digester, p.day) == (each.source, each.instead_of, each.day)
        ]
        assert each.amount_g == sum(p.amount_g for p in mine)
        assert each.digester != each.instead_of
        pairs = {(p.source, p.digester): p for p in problem.pairs}
        assert pairs[each.source, each.digester].meets_on_day[each.day]
        found = what_if(
            problem,
            result,
            Change(
                pins=tuple(Pin(p.batch, each.digester, p.day, p.amount_g) for p in mine),
                bans=(Ban(each.source, each.instead_of, each.day),),
            ),
        )
        assert not found.cannot_keep
        assert not found.fall_below_minimum


def test_nobody_stands_by_where_nobody_has_room() -> None:
    problem, result = planned()
    every = {batch.source for batch in problem.batches}
    never = (False,) * problem.days
    pairs = tuple(replace(pair, meets_on_day=never) for pair in problem.pairs)
    alone = replace(problem, pairs=pairs)
    assert choose_second_homes(alone, result, every) == []
