"""50 clients confirm one pickup at once, 200 rounds: exactly one effect in each.

    python -m tests.benchmarks.confirm_races [--clients 50] [--rounds 200]

Once for each database: DATABASE_URL chooses it. Every other round all clients send the same key
(one phone that tries again), else each its own (several phones).
"""

from __future__ import annotations

import argparse
import threading
import time
from collections import Counter
from datetime import timedelta

from tests.benchmarks.own_database import own_database


def main() -> None:
    """Prints the table; a round without exactly one effect ends it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=50)
    parser.add_argument("--rounds", type=int, default=200)
    asked = parser.parse_args()
    with own_database() as vendor:
        run(vendor, asked.clients, asked.rounds)


def run(vendor: str, clients: int, rounds: int) -> None:
    """Models need Django set up."""
    from django.db import OperationalError, connection  # noqa: PLC0415

    from apps.kernel.errors import Conflict  # noqa: PLC0415
    from apps.ledger.models import Movement  # noqa: PLC0415
    from apps.ledger.queries.invariants import check_ledger  # noqa: PLC0415
    from apps.pickups.core.life import COMPLETE, Party  # noqa: PLC0415
    from apps.pickups.models import Pickup, PickupEvent  # noqa: PLC0415
    from apps.pickups.operations.complete_pickup import complete_pickup  # noqa: PLC0415
    from apps.pickups.operations.sync_pickups import sync_pickups  # noqa: PLC0415
    from apps.pickups.operations.take_step import Act, Actor  # noqa: PLC0415
    from tests.cast import make_cast  # noqa: PLC0415
    from tests.pickups.plans import write_plan  # noqa: PLC0415

    cast = make_cast(history_days=0)
    asked = [(cast.vegetables, cast.drum, day, 3_000) for day in range(rounds)]
    sync_pickups(write_plan(cast, asked), now=cast.now)
    outcomes: Counter[str] = Counter()
    waits: list[float] = []
    for number, pickup in enumerate(Pickup.objects.of(cast.group).order_by("on")):
        gate = threading.Barrier(clients)

        def confirm(client: int, number: int = number, pickup=pickup, gate=gate) -> None:
            key = f"{number}" if number % 2 else f"{number}-{client}"
            act = Act(
                COMPLETE, Actor(cast.duarte, Party.FETCHER), key, cast.now + timedelta(days=rounds)
            )
            gate.wait()
            began = time.perf_counter()
            try:
                _pickup, is_new = complete_pickup(cast.group, pickup.uuid, act)
                outcomes["new" if is_new else "repeat"] += 1
            except Conflict:
                outcomes["refused"] += 1
            except OperationalError:
                outcomes["busy, nothing saved"] += 1
            finally:
                waits.append(time.perf_counter() - began)
                connection.close()

        threads = [threading.Thread(target=confirm, args=[client]) for client in range(clients)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        effects = Movement.objects.of(cast.group).count()
        events = PickupEvent.objects.of(cast.group).count()
        assert effects == events == number + 1, f"round {number}: {effects} effects"
    broken = [promise for promise in check_ledger() if not promise.is_kept]
    assert not broken, broken
    waits.sort()
    print(f"{vendor}: {rounds} rounds of {clients} clients, 1 effect in each; {dict(outcomes)}")
    print(f"p50 {waits[len(waits) // 2]:.3f} s, p95 {waits[len(waits) * 95 // 100]:.3f} s")


if __name__ == "__main__":
    main()
