"""A neighbourhood's round: `python -m tests.benchmarks.rounds_small [cases] [seconds]`.

Times are processor seconds. One carrier, 12 pickups, 10 drops, generated
(`tests/rounds/neighbourhood.py`). Each is solved as the pages do, then searched again for
`seconds` (default 60); `gap` is between the two, in cost (seconds out); an errand left out would
show in its own column. The last lines show how the time grows with the number of pickups, and
how long the rest of a running round takes.
"""

from __future__ import annotations

import sys
import time

from apps.rounds.core.engine import Effort
from apps.rounds.core.export import export
from apps.rounds.core.rest import rest_of
from apps.rounds.core.solve import solve
from apps.rounds.verifier import verify
from tests.rounds.neighbourhood import neighbourhood


def main(cases: int, seconds: float) -> None:
    print("case   seconds   left   cost   left then   cost then     gap   faults")
    gaps, times = [], []
    for seed in range(1, cases + 1):
        rounds = neighbourhood(seed)
        started = time.process_time()
        answer = solve(rounds)
        took_s = time.process_time() - started
        longer = solve(rounds, Effort(most_cpu_s=seconds)) if seconds else answer
        gap = 100 * (answer.cost / longer.cost - 1)
        gaps.append(gap)
        times.append(took_s)
        print(
            f"{seed:4d}   {took_s:7.2f}   {len(answer.left):4d} {answer.cost:6d}   "
            f"{len(longer.left):9d}   {longer.cost:9d}   {gap:5.2f} %   "
            f"{len(verify(export(answer))):6d}",
            flush=True,
        )
    within = sum(gap <= 1 for gap in gaps)
    print(f"within 1 %: {within} of {cases}; slowest {max(times):.2f} s")
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
    )
