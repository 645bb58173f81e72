"""For visits to sources where visits often come to nothing: the home that is asked first instead.

It is chosen with the plan, so that it is told beforehand, and holds nothing: the second home's own
plan stays as it is, and has room for the waste only if the first does not come.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from apps.planning.core.change import Change
from apps.planning.core.problem import Ban, Pair, Pin, Placement, Problem
from apps.planning.core.result import Result
from apps.planning.core.what_if import what_if
from apps.planning.queries.contradictions import ALONE

LEAST_VISITS, UNSURE_SHARE = 5, 0.2
"""Visits from which a source is judged, and the part of them that came to nothing from which it
is unsure. Rulings of ours."""
FIRST_DAYS = 3
"""Days of a plan for which somebody stands by; later ones are planned anew before they come."""
LOOK_AT_HOMES = 5
"""Nearest homes that are tried for a visit."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """`digester` is asked first when `instead_of` does not come to `source` on `day`."""

    source: str
    instead_of: str
    digester: str
    day: int
    amount_g: int
    distance_m: int


def unsure_sources(visits: Mapping[str, tuple[int, int]]) -> set[str]:
    """Of source codes with (visits planned, come to nothing), those that are unsure."""
    return {
        code
        for code, (planned, missed) in visits.items()
        if planned >= LEAST_VISITS and missed >= UNSURE_SHARE * planned
    }


def choose_second_homes(problem: Problem, result: Result, unsure: Collection[str]) -> list[Chosen]:
    """By day, source and first home. The nearest other home that could take all of the visit with
    everything else as it is, within its limits and with nobody falling below a minimum."""
    source_of = {batch.code: batch.source for batch in problem.batches}
    visits: dict[tuple[int, str, str], list[Placement]] = defaultdict(list)
    for each in result.placements:
        source = source_of[each.batch]
        if source in unsure and each.day < FIRST_DAYS:
            visits[each.day, source, each.digester].append(each)
    near: dict[str, list[Pair]] = defaultdict(list)
    for pair in sorted(problem.pairs, key=lambda each: (each.distance_m, each.digester)):
        near[pair.source].append(pair)
    chosen = []
    for (day, source, first), placements in sorted(visits.items()):
        others = [
            pair
            for pair in near[source]
            if (day, source, pair.digester) not in visits and pair.meets_on_day[day]
        ]
        for pair in others[:LOOK_AT_HOMES]:
            if _takes_all(problem, result, placements, pair):
                amount_g = sum(each.amount_g for each in placements)
                chosen.append(Chosen(source, first, pair.digester, day, amount_g, pair.distance_m))
                break
    return chosen


def _takes_all(
    problem: Problem, result: Result, placements: Collection[Placement], pair: Pair
) -> bool:
    found = what_if(
        problem,
        result,
        Change(
            pins=tuple(
                Pin(each.batch, pair.digester, each.day, each.amount_g) for each in placements
            ),
            bans=tuple({Ban(pair.source, each.digester, each.day) for each in placements}),
            lifted_pins=tuple(
                pin
                for pin in problem.pins
                if (pin.batch, pin.digester, pin.day)
                in {(each.batch, each.digester, each.day) for each in placements}
            ),
        ),
    )
    alone = any(each.rule in ALONE for each in found.would_pass)
    return not (alone or found.cannot_keep or found.fall_below_minimum)
