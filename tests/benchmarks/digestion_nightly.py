"""A night for many digesters: filter, seven-day forecast, capacity and stored bytes.

    python -m tests.benchmarks.digestion_nightly [most digesters] [processes]

48 members each; half the digesters were read today. Target: 10,000 under 60 s on 2 cores, and cost
linear in digesters. The rules' figure is set high enough that about a third have to be bisected.
"""

from __future__ import annotations

import sys
from datetime import date, timedelta
from multiprocessing import get_context
from time import perf_counter, process_time

import numpy as np

from apps.digesters.core.process.capacity import feed_mix, largest_feed
from apps.digesters.core.process.ensemble import joined
from apps.digesters.core.process.forecast import FeedPlan, forecast
from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.gas_made import GasMade
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.state_blob import pack_state, unpack_state
from apps.digesters.core.process.track import DayRecord, Tracked, seeded, track

FIRST = date(2030, 1, 1)
SIZE_M3 = 1.0
HORIZON = 7
BATCH = 250


def meal(kg: float) -> tuple[Portion, ...]:
    """So many kg of canteen waste."""
    return (Portion(kg, 0.226, fractions_of("canteen_food_waste")),)


def started(number: int) -> bytes:
    """A digester in its second month, as it lies in storage."""
    name = f"N-{number}"
    records = tuple(
        DayRecord(
            FIRST + timedelta(days=d + 1),
            meal(2.0) if d >= 15 else (),
            5.0 if d >= 15 else 0.0,
            27.0,
            ph=7.2 if d % 7 == 0 else None,
        )
        for d in range(30)
    )
    return pack_state(track([Tracked(name, SIZE_M3, seeded(name, FIRST), records)])[0][-1].state)


def night_of(blobs: list[bytes]) -> tuple[float, int]:
    """One night for a batch; processor seconds, and how many the model held under the rules."""
    began = process_time()
    states = [unpack_state(blob) for blob in blobs]
    rng = np.random.default_rng(len(blobs))
    tracked = []
    for place, state in enumerate(states):
        gas = GasMade(float(rng.normal(0.30, 0.03)), 0.03) if place % 2 else None
        record = DayRecord(state.on + timedelta(days=1), meal(2.0), 5.0, 27.0, gas)
        tracked.append(Tracked(state.digester, SIZE_M3, state, (record,)))
    nights = track(tracked)
    ensemble = joined([night[-1].state.ensemble for night in nights])
    count = len(states)
    load, thin = load_of(meal(2.0), 5.0, SIZE_M3)
    plan = FeedPlan(
        np.repeat(np.repeat(load[None, :, None], count, axis=2), HORIZON, axis=0),
        np.full((HORIZON, count), thin),
        np.full((HORIZON, count), 27.0),
    )
    ahead = forecast(ensemble, plan, np.full(count, SIZE_M3))
    for place in range(count):
        ahead.souring_probability(place)
        ahead.gas_band(place, 0)
    mix = feed_mix(meal(3.0), 7.0, SIZE_M3)
    most = np.where(np.arange(count) % 3 == 0, 12.0, 3.0)
    capacity = largest_feed(ensemble, [mix] * count, most, plan.slurry_c)
    for night in nights:
        pack_state(night[-1].state)
    return process_time() - began, int((~capacity.at_limit).sum())


def main(most: int, processes: int) -> None:
    kinds = [started(number) for number in range(20)]
    print(f"A night on {processes} processes, 48 members, forecast and capacity of {HORIZON} days")
    with get_context("spawn").Pool(processes) as pool:
        pool.map(night_of, [kinds] * processes)  # start the workers before timing
        base = None
        for count in (most // 10, 3 * most // 10, most):
            blobs = [kinds[k % len(kinds)] for k in range(count)]
            batches = [blobs[k : k + BATCH] for k in range(0, count, BATCH)]
            before = perf_counter()
            done = pool.map(night_of, batches, chunksize=1)
            took = perf_counter() - before
            busy = sum(seconds for seconds, _ in done)
            each = busy / count * 1000.0
            base = base or each
            bisected = sum(held for _, held in done)
            print(
                f"  {count:6d} digesters {took:6.1f} s, of processor {busy:6.1f} s: {each:5.2f} ms "
                f"each ({each / base:4.2f} of the first row), {bisected} bisected"
            )


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 10_000,
        int(sys.argv[2]) if len(sys.argv) > 2 else 2,
    )
