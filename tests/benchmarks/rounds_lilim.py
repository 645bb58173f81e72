"""Pickup and delivery: `python -m tests.benchmarks.rounds_lilim [--ours] [seconds] [names]`.

Li & Lim's instances in `tests/data/rounds`. Fewest vehicles count first, then distance; `gap` is
to the best known distance and means little with another number of vehicles (shown in brackets).
"ours" is `apps.rounds.core.fewest`; "library" is pyvrp by itself with the same seconds:
its own `minimise_fleet` for a third of them, then `solve`. `faults` are the independent
verifier's, on the published numbers in double precision.
"""

from __future__ import annotations

import sys
import time
import warnings

from pyvrp import ProblemData, minimise_fleet, solve

from apps.rounds.core.engine import CpuSeconds, Effort, Model
from apps.rounds.core.fewest import fewest_carriers
from apps.rounds.core.problem import Tour
from apps.rounds.verifier import verify
from tests.rounds.instances import ROUND_OFF, Instance, best_known, read_instance, stated


def main(seconds: float, names: list[str], *, is_compared: bool = True) -> None:
    names = names or [name for name in best_known() if name.startswith("l")]
    print(f"{seconds:g} s of one processor each; vehicles and gap in distance to the best known")
    print("instance   best known       ours                  library               faults")
    gaps, equal = [], 0
    for name in names:
        instance = read_instance(name)
        started = time.process_time()
        ours = fewest_carriers(instance.rounds, Effort(most_cpu_s=seconds))
        took_s = time.process_time() - started
        theirs = _library(instance, seconds) if is_compared else ()
        document = stated(instance, ours)
        faults = len(verify(document, tolerance=ROUND_OFF))
        if len(ours) == instance.best_vehicles:
            equal += 1
            gaps.append(_distance(instance, ours) / instance.best_distance - 1)
        print(
            f"{name:9s} {instance.best_vehicles:3d} {instance.best_distance:9.2f}  "
            f"{_cell(instance, ours)}  {_cell(instance, theirs)}  {faults:3d}   {took_s:5.1f} s",
            flush=True,
        )
    mean = 100 * sum(gaps) / len(gaps) if gaps else float("nan")
    print(f"best known vehicles on {equal} of {len(names)}; mean gap there {mean:.3f} %")


def _library(instance: Instance, seconds: float) -> tuple[Tour, ...]:
    """The same model, without our cost for going out, through the library's own two steps."""
    model = Model(instance.rounds)
    [kind] = model.data.vehicle_types()
    data: ProblemData = model.data.replace(vehicle_types=[kind.replace(fixed_cost=0)])
    fleet = minimise_fleet(data, CpuSeconds(seconds / 3))
    data = data.replace(vehicle_types=[fleet])
    best = solve(data, CpuSeconds(seconds * 2 / 3), collect_stats=False, display=False).best
    return model.tours(best) if best.is_feasible() else ()


def _distance(instance: Instance, tours: tuple[Tour, ...]) -> float:
    return float(sum(tour["metres"] for tour in stated(instance, tours)["tours"]))


def _cell(instance: Instance, tours: tuple[Tour, ...]) -> str:
    if not tours:
        return "none                "
    gap = 100 * (_distance(instance, tours) / instance.best_distance - 1)
    extra = len(tours) - (instance.best_vehicles or 0)
    shown = f"{gap:+.2f} %" if not extra else f"({gap:+.2f} %)"
    return f"{len(tours):3d} {extra:+d} {shown:>12}  "


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    is_compared = "--ours" not in sys.argv
    given = [word for word in sys.argv[1:] if word != "--ours"]
    limit = float(given.pop(0)) if given and given[0].replace(".", "").isdigit() else 10.0
    main(limit, given, is_compared=is_compared)
