"""A neighbourhood's round: `python -m tests.benchmarks.rounds_small [cases] [seconds] [kept]`.

`kept` is a file in which each case is kept as it is done; a run that was cut short goes on from
there when it is named again. Times are processor seconds. One carrier, 12 pickups, 10 drops,
generated (`tests/rounds/neighbourhood.py`). Each is solved as the pages do, then searched again for
`seconds` (default 60); `gap` is between the two, in cost (seconds out); an errand left out would
show in its own column. The last lines show how the time grows with the number of pickups, and
how long the rest of a running round takes.
"""

from __future__ import annotations

import json
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path

from apps.rounds.core.engine import Effort
from apps.rounds.core.export import export
from apps.rounds.core.rest import rest_of
from apps.rounds.core.solve import solve
from apps.rounds.verifier import verify
from tests.rounds.neighbourhood import neighbourhood


@dataclass(frozen=True)
class Case:
    """One case; `then`: after the long search. Costs are seconds out."""

    seed: int
    took_s: float
    left: int
    cost: int
    left_then: int
    cost_then: int
    faults: int

    @property
    def gap(self) -> float:
        """Of the short search above the long one [%]."""
        return 100 * (self.cost / self.cost_then - 1)


def main(cases: int, seconds: float, kept: Path | None = None) -> None:
    print("case   seconds   left   cost   left then   cost then     gap   faults")
    found = []
    for seed in range(1, cases + 1):
        case = _kept(kept, seed, seconds)
        if case is None:
            case = _case(seed, seconds)
            _keep(kept, case, seconds)
        found.append(case)
        print(
            f"{seed:4d}   {case.took_s:7.2f}   {case.left:4d} {case.cost:6d}   "
            f"{case.left_then:9d}   {case.cost_then:9d}   {case.gap:5.2f} %   {case.faults:6d}",
            flush=True,
        )
    within = sum(case.gap <= 1 for case in found)
    slowest = max(case.took_s for case in found)
    print(f"within 1 %: {within} of {cases}; slowest {slowest:.2f} s")
    _growth()


def _kept(kept: Path | None, seed: int, seconds: float) -> Case | None:
    """As an earlier run with the same search left it, if it got so far."""
    if kept is None or not kept.exists():
        return None
    for line in kept.read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        if (row.pop("seconds"), row["seed"]) == (seconds, seed):
            return Case(**row)
    return None


def _keep(kept: Path | None, case: Case, seconds: float) -> None:
    if kept is not None:
        with kept.open("a", encoding="utf-8") as file:
            file.write(json.dumps({"seconds": seconds, **asdict(case)}) + "\n")


def _case(seed: int, seconds: float) -> Case:
    rounds = neighbourhood(seed)
    started = time.process_time()
    answer = solve(rounds)
    took_s = time.process_time() - started
    longer = solve(rounds, Effort(most_cpu_s=seconds)) if seconds else answer
    faults = len(verify(export(answer)))
    return Case(seed, took_s, len(answer.left), answer.cost, len(longer.left), longer.cost, faults)


def _growth() -> None:
    print("pickups   drops   seconds   rest of it, half done")
    for size in (6, 12, 24, 48):
        rounds = neighbourhood(1, size, size * 10 // 12, limit_g=100_000)
        started = time.process_time()
        answer = solve(rounds)
        took_s = time.process_time() - started
        tour = answer.tours[0]
        half = tour.moments[: len(tour.moments) // 2]
        last = half[-1]
        started = time.process_time()
        solve(
            rest_of(
                rounds,
                tour.carrier,
                [moment.visit for moment in half],
                at_place=rounds.errand[last.visit.errand].end(last.visit.side).place,
                now_s=last.leave_s,
            )
        )
        again_s = time.process_time() - started
        print(f"{size:7d}   {size * 10 // 12:5d}   {took_s:7.2f}   {again_s:7.2f}", flush=True)


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 30,
        float(sys.argv[2]) if len(sys.argv) > 2 else 60.0,
        Path(sys.argv[3]) if len(sys.argv) > 3 else None,
    )
