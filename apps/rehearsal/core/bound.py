"""Perfect foresight: what no policy that keeps to the service's fill can pass without a mistake.

A relaxation: every gram that arises is known for the whole year, may be split at will among all
homes within reach, needs no walk of a whole person, and rises need no patience; what remains are
the grams that arise, the days they keep, reach, and each home's daily limits at the true
temperature, filled as far as the service may (own kitchen waste first). Solved in blocks of
feeding days; a batch that spans two blocks counts in both, so that the bound stays one.
A careful hand fills the whole plate, not nine tenths of it, and a feeding doubled by mistake
counts as fed: both may place more.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_array

from apps.rehearsal.core.limits import judged_limits
from apps.rehearsal.core.world import OWN_MATERIAL, World

BLOCK_DAYS = 28


@dataclass(frozen=True, slots=True)
class Bound:
    """Most fetched grams fed; gram-metres with which they can be carried at least; digester-days
    inside their range at most, of all digester-days."""

    placed_g: int
    carried_g_m: int
    days_inside: int
    days: int


@dataclass(frozen=True, slots=True)
class JudgedDay:
    """One home's range on one day: most g, g VS and mL of all that is fed, the same as a plan
    may fill, and the day's part of the seven-day minimum (0: suspended or away)."""

    max_feed_g: int
    max_vs_g: int
    max_slurry_ml: int
    fill_feed_g: int
    fill_vs_g: int
    fill_slurry_ml: int
    min_vs_g: int
    target_vs_g: int


def judge_world(world: World) -> list[list[JudgedDay]]:
    """By home and day, the range by which every policy is judged."""
    judged = []
    for home in range(len(world.hood.homes)):
        days = []
        for day in range(world.days):
            limits = judged_limits(world, home, day)
            away = bool(world.away[day, home])
            days.append(
                JudgedDay(
                    limits.max_feed_g,
                    limits.max_vs_g,
                    limits.max_slurry_ml,
                    limits.planned_cap("feed_g"),
                    limits.planned_cap("vs_g"),
                    limits.planned_cap("slurry_ml"),
                    0 if away else limits.min_vs_g,
                    0 if away else limits.target_vs_g,
                )
            )
        judged.append(days)
    return judged


def bound_year(world: World, judged: list[list[JudgedDay]]) -> Bound:
    """The bound of a year. Linear in days; a block is one linear program, twice."""
    placed = carried = 0.0
    for start in range(0, world.days, BLOCK_DAYS):
        grams, metres = _block(world, judged, start, min(world.days, start + BLOCK_DAYS))
        placed += grams
        carried += metres
    return Bound(
        ceil(placed),
        int(carried),
        _days_inside(world, judged),
        world.days * len(world.hood.homes),
    )


def _room(world: World, day: JudgedDay, own_g: int) -> tuple[float, float, float]:
    """g, g VS and mL that fetched waste may add."""
    return (
        max(0.0, day.fill_feed_g - own_g),
        max(0.0, day.fill_vs_g - own_g * world.vs_ppm(OWN_MATERIAL) / 1e6),
        max(0.0, day.fill_slurry_ml - own_g * world.slurry_ppm(OWN_MATERIAL) / 1e6),
    )


def _block(
    world: World, judged: list[list[JudgedDay]], start: int, stop: int
) -> tuple[float, float]:
    """Most grams fed in the days of one block, and the gram-metres of the shortest way to."""
    streams = world.hood.streams
    homes = {home.code: index for index, home in enumerate(world.hood.homes)}
    near: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for (source, code), away_m in sorted(world.hood.walks().items()):
        near[source].append((homes[code], away_m))
    rows: list[int] = []
    columns: list[int] = []
    values: list[float] = []
    limits: list[float] = []
    row_of: dict[tuple[int, int, int], int] = {}
    metres_of: list[float] = []
    for home, days in enumerate(judged):
        for day in range(start, stop):
            away = bool(world.away[day, home])
            own_g = int(world.own_g[day, home])
            for quantity, room in enumerate(_room(world, days[day], own_g)):
                row_of[home, day, quantity] = len(limits)
                limits.append(0.0 if away else room)
    for index, stream in enumerate(streams):
        per_gram = (
            1.0,
            world.vs_ppm(stream.material) / 1e6,
            world.slurry_ppm(stream.material) / 1e6,
        )
        for ready in range(max(0, start - stream.feed_within_days), stop):
            amount_g = int(world.supply.amounts_g[ready, index])
            fed_days = range(max(start, ready), min(stop, ready + stream.feed_within_days + 1))
            if not amount_g or not fed_days:
                continue
            batch_row = len(limits)
            limits.append(amount_g)
            for home, away_m in near[stream.source]:
                for day in fed_days:
                    column = len(metres_of)
                    metres_of.append(away_m)
                    rows.append(batch_row)
                    columns.append(column)
                    values.append(1.0)
                    for quantity in range(3):
                        rows.append(row_of[home, day, quantity])
                        columns.append(column)
                        values.append(per_gram[quantity])
    if not metres_of:
        return 0.0, 0.0
    count = len(metres_of)
    matrix = csr_array((values, (rows, columns)), shape=(len(limits), count))
    # Kilograms: the solver's tolerances are absolute.
    right = np.array(limits) / 1000
    most = _solve(-np.ones(count), matrix, right)
    placed_kg = -float(most[1])
    metres = np.array(metres_of)
    whole = csr_array(
        (
            np.concatenate([matrix.data, -np.ones(count)]),
            (
                np.concatenate([matrix.tocoo().row, np.full(count, len(limits))]),
                np.concatenate([matrix.tocoo().col, np.arange(count)]),
            ),
        ),
        shape=(len(limits) + 1, count),
    )
    least = _solve(metres, whole, np.append(right, -placed_kg * (1 - 1e-6)))
    return placed_kg * 1000, float(least[1]) * 1000


def _solve(
    cost: NDArray[np.float64], matrix: csr_array, right: NDArray[np.float64]
) -> tuple[NDArray[np.float64], float]:
    answer = linprog(cost, A_ub=matrix, b_ub=right, bounds=(0, None), method="highs")
    if answer.status != 0:
        raise ArithmeticError(f"The bound's linear program ended with: {answer.message}")
    return answer.x, float(answer.fun)


def _days_inside(world: World, judged: list[list[JudgedDay]]) -> int:
    """Digester-days that can be inside at all: each home alone with everything in its reach."""
    near: dict[int, list[int]] = defaultdict(list)
    homes = {home.code: index for index, home in enumerate(world.hood.homes)}
    of_source: dict[str, list[int]] = defaultdict(list)
    for index, stream in enumerate(world.hood.streams):
        of_source[stream.source].append(index)
    for source, code in world.hood.walks():
        near[homes[code]] += of_source[source]
    inside = 0
    for home, days in enumerate(judged):
        could = []
        for day in range(world.days):
            own_vs = float(world.own_g[day, home]) * world.vs_ppm(OWN_MATERIAL) / 1e6
            fresh = 0.0
            for index in near[home]:
                stream = world.hood.streams[index]
                since = max(0, day - stream.feed_within_days)
                fresh += (
                    float(world.supply.amounts_g[since : day + 1, index].sum())
                    * world.vs_ppm(stream.material)
                    / 1e6
                )
            away = bool(world.away[day, home])
            could.append(0.0 if away else min(days[day].max_vs_g, own_vs + fresh))
        inside += sum(is_inside(days, could, could, day) for day in range(world.days))
    return inside


def is_inside(
    days: list[JudgedDay], fed_vs: list[float], counted_vs: list[float], day: int
) -> bool:
    """Not above the day's maximum, and over the seven days that end with it not under their
    minimum. `counted_vs` is what counts to the minimum."""
    since = max(0, day - 6)
    least = sum(days[at].min_vs_g for at in range(since, day + 1))
    enough = sum(counted_vs[since : day + 1]) >= least - 1
    return enough and fed_vs[day] <= days[day].max_vs_g + 1
