"""Where what no digester takes goes: a named place with room that day, or nowhere.

Whole batches only, each on the last day on which somebody might still have come for it; the
largest first, so that few sources are left with theirs, each to the nearest place with room.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from apps.planning.core.problem import Batch, Problem
from apps.planning.core.result import LeftOver


@dataclass(frozen=True, slots=True)
class Destination:
    """A place for what is left over, such as a compost place. `distance_m` by source; sources
    that are not in it do not go there. `accepts` None: every material."""

    code: str
    name: str
    capacity_g_per_day: int
    distance_m: Mapping[str, int]
    accepts: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Sending:
    """What becomes of a batch's left-over on `day`. `destination` None: it stays with the
    source. `undecided`: it may still be collected after the plan's last day."""

    batch: str
    source: str
    day: int
    amount_g: int
    destination: str | None
    undecided: bool = False


def last_chance_day(problem: Problem, batch: Batch) -> int:
    """The last day of the plan on which a batch could have been collected."""
    last = min(batch.collect_by_day, batch.feed_by_day, problem.days - 1)
    return min(max(0, last), max(0, problem.days - 1))


def send_left_over(
    problem: Problem, left_over: Iterable[LeftOver], destinations: Iterable[Destination]
) -> tuple[Sending, ...]:
    """One sending for each batch left over, by day, source and batch. Stock that spoils in a
    bin is not a source's and is left out."""
    batches = {batch.code: batch for batch in problem.batches}
    places = sorted(destinations, key=lambda each: each.code)
    used: dict[tuple[str, int], int] = defaultdict(int)
    sendings = []
    mine = [each for each in left_over if each.batch in batches]
    for left in sorted(mine, key=lambda each: (-each.amount_g, each.batch)):
        batch = batches[left.batch]
        day = last_chance_day(problem, batch)
        undecided = min(batch.collect_by_day, batch.feed_by_day) >= problem.days
        place = None
        if not undecided:
            place = min(
                (
                    each
                    for each in places
                    if batch.source in each.distance_m
                    and (each.accepts is None or batch.material in each.accepts)
                    and used[each.code, day] + left.amount_g <= each.capacity_g_per_day
                ),
                key=lambda each: each.distance_m[batch.source],
                default=None,
            )
        if place is not None:
            used[place.code, day] += left.amount_g
        sendings.append(
            Sending(
                batch.code,
                batch.source,
                day,
                left.amount_g,
                place.code if place else None,
                undecided,
            )
        )
    return tuple(sorted(sendings, key=lambda each: (each.day, each.source, each.batch)))
