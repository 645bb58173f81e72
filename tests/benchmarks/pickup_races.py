"""Every pair of things that can be done to one pickup, both at once: how many races ended as one
order or the other would have, with a sentence for whoever was refused.

    python -m tests.benchmarks.pickup_races [start ...] [--times 1]

`start` is where the pickup is when the two begin ("announced", "on a cart", ...); left out: all.
DATABASE_URL chooses the database. Prints each race that ended otherwise.
"""

from __future__ import annotations

import argparse

from tests.benchmarks.own_database import own_database


def main() -> None:
    """Prints the table; ends with 1 when any race ended otherwise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("start", nargs="*")
    parser.add_argument("--times", type=int, default=1)
    asked = parser.parse_args()
    with own_database() as vendor:
        wrong = run(vendor, asked.start, asked.times)
    raise SystemExit(1 if wrong else 0)


def run(vendor: str, starts: list[str], times: int) -> int:
    """Models need Django set up. Returns the number of races that ended otherwise."""
    from apps.ledger.queries.invariants import check_ledger  # noqa: PLC0415
    from apps.pickups.queries.invariants import check_pickups  # noqa: PLC0415
    from tests.pickups.racers import STARTS, pairs_of  # noqa: PLC0415
    from tests.pickups.races import Course  # noqa: PLC0415

    course = Course()
    every = 0
    print(f"{'pickup is':<22} {'races':>6} {'both done':>10} {'one refused':>12} {'wrong':>6}")
    for start in starts or STARTS:
        races = both = one = wrong = 0
        for pair in pairs_of(start) * times:
            together, orders = course.race(start, *pair)
            refused = sum(each != "done" for each in together.told)
            races, both, one = races + 1, both + (refused == 0), one + (refused == 1)
            if together not in orders or not together.is_said:
                wrong += 1
                print(f"  {start}: {' | '.join(pair)}: {together.told}")
        print(f"{start:<22} {races:>6} {both:>10} {one:>12} {wrong:>6}", flush=True)
        every += wrong
    broken = [each for each in (*check_ledger(), *check_pickups()) if not each.is_kept]
    print(f"{vendor}: {every} races wrong, {len(broken)} promises of the books broken")
    return every + len(broken)


if __name__ == "__main__":
    main()
