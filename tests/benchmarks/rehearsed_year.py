"""`python -m tests.benchmarks.rehearsed_year [neighbourhoods] [days] [careless] [first seed]`

Years of invented neighbourhoods (18 digesters, 45 sources) under two policies and a bound:

- ours: `apps.rehearsal.core.ours`, with a light planning effort each evening;
- by hand: `apps.rehearsal.core.by_hand`, stated in its docstring;
- bound: `apps.rehearsal.core.bound`, perfect foresight, a relaxation.

Prints the table and the targets, reached or not. `careless` multiplies the mistakes of feeding.
One process a core; the seeds are fixed, so the same call prints the same figures.
"""

from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from datetime import date

from apps.feedstock.core.published import read_published
from apps.rehearsal.core.bound import Bound, bound_year, judge_world
from apps.rehearsal.core.figures import Figures, add_up, compare, sum_year
from apps.rehearsal.core.neighbourhood import invent_neighbourhood
from apps.rehearsal.core.run import PolicyName, go_on, set_out
from apps.rehearsal.core.world import draw_world

FIRST_ON = date(2029, 1, 1)
HOMES, SOURCES = 18, 45


def live_one(task: tuple[int, int, float]) -> tuple[int, dict[str, Figures], Bound, float]:
    """One neighbourhood's year under each policy: figures by policy, the bound, CPU seconds."""
    seed, days, careless = task
    started = time.process_time()
    world = draw_world(
        invent_neighbourhood(HOMES, SOURCES, seed, first_on=FIRST_ON),
        read_published(),
        first_on=FIRST_ON,
        days=days,
        seed=seed,
        careless=careless,
    )
    judged = judge_world(world)
    bound = bound_year(world, judged)
    figures = {}
    for name in PolicyName:
        journey = set_out(world, name)
        for _ in go_on(journey, days):
            pass
        figures[name.value] = sum_year(world, judged, journey.year.rows, journey.above_stored)
    return seed, figures, bound, time.process_time() - started


def main(count: int = 3, days: int = 365, careless: float = 1.0, first: int = 101) -> None:
    tasks = [(first + index, days, careless) for index in range(count)]
    workers = min(count, os.cpu_count() or 1)
    with ProcessPoolExecutor(workers) as pool:
        years = list(pool.map(live_one, tasks))
    print(f"{count} neighbourhoods, {HOMES} digesters, {SOURCES} sources, {days} days,", end=" ")
    print(f"mistakes x {careless:g}")
    print("seed  policy    inside   above  below  placed kg  m a kg  walks  spoiled kg  sour  <6.8")
    for seed, figures, bound, seconds in years:
        for name, each in figures.items():
            print(
                f"{seed:4}  {name:8} {each.days_inside / each.days:7.1%} {each.days_above:6}"
                f" {each.days_below:6} {each.placed_g / 1000:10.0f} {each.metres_per_gram:7.0f}"
                f" {each.walks:6} {each.spoiled_g / 1000:11.0f} {each.soured:5}"
                f" {each.days_under_68:5}"
            )
        metres = bound.carried_g_m / max(1, bound.placed_g)
        print(
            f"{seed:4}  bound    {bound.days_inside / bound.days:7.1%} {'':13}"
            f" {bound.placed_g / 1000:10.0f} {metres:7.0f}   {seconds:.0f} s CPU in all"
        )
    ours = add_up([figures["ours"] for _, figures, _, _ in years])
    by_hand = add_up([figures["by_hand"] for _, figures, _, _ in years])
    total = Bound(
        *(sum(asdict(bound)[name] for _, _, bound, _ in years) for name in asdict(years[0][2]))
    )
    print("target                     wanted   reached")
    for each in compare(ours, by_hand, total):
        mark = "" if each.is_reached else "   NOT REACHED"
        print(f"{each.name:26} {each.wanted:8} {each.reached}{mark}")


if __name__ == "__main__":
    given = sys.argv[1:]
    main(
        int(given[0]) if given else 3,
        int(given[1]) if len(given) > 1 else 365,
        float(given[2]) if len(given) > 2 else 1.0,
        int(given[3]) if len(given) > 3 else 101,
    )
