"""1,000 random days through the operations, invariants after each step.

    python -m tests.benchmarks.random_days [--days 1000] [--seed 0]

Once for each database: DATABASE_URL chooses it. Prints days, steps, deliveries and seconds.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter

from tests.benchmarks.own_database import own_database


def main() -> None:
    """Machines of 40 steps, one after another, until the days are through."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=1_000)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    with own_database() as vendor:
        run(vendor, asked.days, asked.seed)


def run(vendor: str, days: int, seed: int) -> None:
    """The machine imports models, which need Django set up."""
    from hypothesis import HealthCheck, Phase, settings  # noqa: PLC0415
    from hypothesis import seed as seeded  # noqa: PLC0415
    from hypothesis.stateful import run_state_machine_as_test  # noqa: PLC0415

    from tests.journeys.day_machine import DayMachine  # noqa: PLC0415

    done: Counter[str] = Counter()
    began = time.monotonic()
    turn = 0
    while DayMachine.days_run < days:

        @seeded(seed + turn)
        class Machine(DayMachine):
            """Counts what was really done."""

            def teardown(self) -> None:
                done["deliveries"] += len(self.delivered)
                done["machines"] += 1
                super().teardown()

        run_state_machine_as_test(
            Machine,
            settings=settings(
                max_examples=5,
                stateful_step_count=40,
                deadline=None,
                database=None,
                phases=[Phase.generate],
                suppress_health_check=list(HealthCheck),
            ),
        )
        turn += 1
        print(f"{DayMachine.days_run} days, {time.monotonic() - began:.0f} s", flush=True)
    print(
        f"{vendor}: {DayMachine.days_run} days in {done['machines']} neighbourhoods, "
        f"{done['deliveries']} deliveries: 0 g lost, no daily feed above its maximum, "
        f"{time.monotonic() - began:.0f} s"
    )


if __name__ == "__main__":
    main()
