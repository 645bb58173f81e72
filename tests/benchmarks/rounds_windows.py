"""Windows and several starts: `python -m tests.benchmarks.rounds_windows [seconds] [names]`.

Solomon's instances (windows at the customers; fewest vehicles, then distance) and Cordeau's (no
windows, several depots; distance only) in `tests/data/rounds`. "ours" is
`apps.rounds.core.fewest` or, over several depots, `engine.search`; "library" is pyvrp by itself,
distance only. `faults` are the independent verifier's, on the published numbers.
"""

from __future__ import annotations

import sys
import time
import warnings

from pyvrp import solve

from apps.rounds.core.engine import CpuSeconds, Effort, Model, search
from apps.rounds.core.fewest import asks_for_fewest, fewest_carriers
from apps.rounds.core.problem import Tour
from apps.rounds.verifier import verify
from tests.rounds.instances import ROUND_OFF, Instance, best_known, read_instance, stated


def main(seconds: float, names: list[str]) -> None:
    names = names or [name for name in best_known() if not name.startswith("l")]
    print(f"{seconds:g} s of one processor each; vehicles and gap in distance to the best known")
    print("instance   best known       ours              library           faults")
    for name in names:
        instance = read_instance(name)
        started = time.process_time()
        find = fewest_carriers if asks_for_fewest(instance.rounds) else search
        ours = find(instance.rounds, Effort(most_cpu_s=seconds))
        took_s = time.process_time() - started
        theirs = _library(instance, seconds)
        faults = len(verify(stated(instance, ours), tolerance=ROUND_OFF))
        vehicles = "  -" if instance.best_vehicles is None else f"{instance.best_vehicles:3d}"
        print(
            f"{name:9s} {vehicles} {instance.best_distance:9.2f}   {_cell(instance, ours)}   "
            f"{_cell(instance, theirs)}   {faults:3d}   {took_s:5.1f} s",
            flush=True,
        )


def _library(instance: Instance, seconds: float) -> tuple[Tour, ...]:
    model = Model(instance.rounds)
    kinds = [kind.replace(fixed_cost=0) for kind in model.data.vehicle_types()]
    data = model.data.replace(vehicle_types=kinds)
    return model.tours(solve(data, CpuSeconds(seconds), collect_stats=False, display=False).best)


def _cell(instance: Instance, tours: tuple[Tour, ...]) -> str:
    distance = sum(tour["metres"] for tour in stated(instance, tours)["tours"])
    return f"{len(tours):3d} {100 * (distance / instance.best_distance - 1):+8.2f} %"


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    given = sys.argv[1:]
    limit = float(given.pop(0)) if given and given[0].replace(".", "").isdigit() else 10.0
    main(limit, given)
