"""Seeded planning problems: neighbourhoods of clustered streets, all invented.

Densities and figures are rulings of ours, made while the planner was designed: 20 homes per
km2 on clustered streets, about 2.5 batches a source and week, log-normal kilograms by kind of
source, six materials, shelf life 1-4 days, the 12 nearest homes within 1.2 km, 2 homes a
source and day, 3 visits a home and day, 15 kg a trip. `supply` is all offered VS over all
targets of the horizon.
"""

from __future__ import annotations

import math
import random
from datetime import date

from apps.planning.core.problem import (
    PPM,
    Batch,
    DayCaps,
    Digester,
    Material,
    OwnWaste,
    Pair,
    Problem,
    Rules,
    ShareCap,
    Source,
    StockLot,
)

MATERIALS = (
    Material("bread", 590_000, 9_000_000),
    Material("canteen", 220_000, 3_700_000, ("cooked",)),
    Material("citrus", 150_000, 2_600_000, ("citrus",)),
    Material("fruit", 130_000, 2_300_000, ("fruit_sugar",)),
    Material("peelings", 140_000, 2_500_000),
    Material("vegetables", 95_000, 1_800_000),
)
SHELF_DAYS = {"bread": 4, "canteen": 1, "citrus": 4, "fruit": 2, "peelings": 3, "vegetables": 3}
KINDS = (
    ("stall", 0.35, 6.0, 0.6, ("vegetables", "fruit", "citrus")),
    ("canteen", 0.15, 9.0, 0.5, ("canteen", "peelings", "bread")),
    ("household", 0.50, 1.8, 0.5, ("peelings", "vegetables", "bread")),
)
SIZES = {"small": (60, 20), "middle": (600, 200), "large": (5000, 1500)}
REACH_M = 1_200
NEAREST = 12
DENSITY_PER_KM2 = 20.0
BATCHES_PER_SOURCE_DAY = 2.5 / 7


def make_problem(
    sources: int, digesters: int, seed: int, *, days: int = 7, supply: float = 1.4
) -> Problem:
    """A neighbourhood; `supply` 0.6 is scarce, 1.4 usual, 4 a glut."""
    rng = random.Random(f"{seed}/{sources}/{digesters}/{days}")
    side_m = 1000 * math.sqrt(digesters / DENSITY_PER_KM2)
    streets = [
        (rng.uniform(0, side_m), rng.uniform(0, side_m)) for _ in range(max(2, digesters // 6))
    ]

    def place() -> tuple[float, float]:
        x, y = rng.choice(streets)
        return (
            min(max(rng.gauss(x, 130), 0), side_m),
            min(max(rng.gauss(y, 130), 0), side_m),
        )

    home_at = [place() for _ in range(digesters)]
    source_at = [place() for _ in range(sources)]
    width = len(str(max(sources, digesters)))
    made_sources, batches, source_days = [], [], []
    for i in range(sources):
        code = f"S{i:0{width}d}"
        draw, kind = rng.random(), KINDS[-1]
        for candidate in KINDS:
            if draw < candidate[1]:
                kind = candidate
                break
            draw -= candidate[1]
        waited = None if rng.random() < 0.03 else rng.randint(0, 9)
        made_sources.append(Source(code, waited_days=waited))
        source_days.append(tuple(rng.random() < 0.9 for _ in range(days)))
        for day in range(days):
            for n in range(_poisson(rng, BATCHES_PER_SOURCE_DAY)):
                material = rng.choice(kind[4])
                grams = round(1000 * kind[2] * math.exp(rng.gauss(0, kind[3])))
                shelf = max(1, SHELF_DAYS[material] - rng.randint(0, 1))
                batches.append(
                    Batch(
                        f"B{i:0{width}d}-{day}-{n}",
                        code,
                        material,
                        max(300, grams),
                        ready_day=day,
                        collect_by_day=min(day + rng.randint(0, 1), day + shelf - 1),
                        feed_by_day=day + shelf - 1 if shelf > 1 else day,
                    )
                )
    materials = {m.code: m for m in MATERIALS}
    offered_vs = sum(b.amount_g * materials[b.material].vs_ppm for b in batches) / PPM
    weights = [math.exp(rng.gauss(0, 0.35)) for _ in range(digesters)]
    scale = offered_vs / supply / days / max(sum(weights), 1e-9)
    homes = [
        _make_home(f"D{i:0{width}d}", round(weights[i] * scale), rng, days)
        for i in range(digesters)
    ]
    pairs = []
    for s in range(sources):
        near = sorted((math.dist(source_at[s], home_at[h]) * 1.3, h) for h in range(digesters))[
            :NEAREST
        ]
        for rank, (distance, h) in enumerate(near):
            if distance <= REACH_M:
                pairs.append(
                    Pair(
                        made_sources[s].code,
                        homes[h].code,
                        max(20, round(distance)),
                        source_days[s],
                        steady=rank < 4 and rng.random() < 0.25,
                    )
                )
    return Problem(
        starts_on=date(2030, 3, 4),
        days=days,
        materials=MATERIALS,
        digesters=tuple(homes),
        sources=tuple(made_sources),
        batches=tuple(batches),
        pairs=tuple(pairs),
        rules=Rules(),
    )


def _make_home(code: str, target: int, rng: random.Random, days: int) -> Digester:
    """A home whose day target is `target` g VS; caps a quarter to a half above."""
    room = rng.uniform(1.2, 1.5)
    vs = round(target * room)
    cap = DayCaps(feed_g=round(vs * 9), vs_g=vs, slurry_ml=round(vs * 22))
    away = rng.randrange(days) if rng.random() < 0.15 else None
    caps = tuple(DayCaps(0, 0, 0) if day == away else cap for day in range(days))
    targets = tuple(0 if day == away else target for day in range(days))
    accepts = {m.code for m in MATERIALS}
    if rng.random() < 0.3:
        accepts.discard("canteen")
    own = tuple(
        OwnWaste(day, "peelings", rng.randint(200, 900)) for day in range(days) if day != away
    )
    stock: tuple[StockLot, ...] = ()
    if rng.random() < 0.3:
        stock = (StockLot(f"L-{code}", "peelings", rng.randint(500, 3000), rng.randint(0, 2)),)
    return Digester(
        code=code,
        caps=caps,
        target_vs_g=targets,
        min_vs_g=round(sum(targets) * rng.uniform(0.35, 0.55)),
        bin_g=max(4_000, round(target * 14)),
        accepts=frozenset(accepts),
        share_caps=(ShareCap("citrus", 250_000), ShareCap("cooked", 500_000)),
        own_waste=own,
        stock=stock,
        recent_fill_ppm=rng.randint(700_000, 1_100_000),
    )


def _poisson(rng: random.Random, mean: float) -> int:
    limit, count, product = math.exp(-mean), 0, rng.random()
    while product > limit:
        count += 1
        product *= rng.random()
    return count
