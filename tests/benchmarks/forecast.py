"""`python -m tests.benchmarks.forecast`: the forecast of streams against the plain weekday mean.

A year of invented streams by kind, as the rehearsal draws them (season, drift, rain, strikes,
no-shows, changes of goods), observed as a group would: most days said, some not. Every day from
the fifth week on is forecast for the day after tomorrow's plan (one day ahead) and four days
ahead; the loss is the mean pinball loss over 20, 50 and 80 % (Koenker and Bassett 1978,
Econometrica 46, 33-50), in parts of the stream's mean. The plain weekday mean is the mean and
normal spread of that weekday over eight weeks, the declared week until it has three weights;
"told" knows the shut days and festivals as well as ours does.
"""

from __future__ import annotations

import time
from collections import defaultdict
from datetime import date, timedelta

import numpy as np

from apps.rehearsal.core.supply import GivenStream, draw_supply
from apps.supply.core.day_effects import DayEffect, unusual_days
from apps.supply.core.forecast import DeclaredPattern, Past, Weight, learn
from tests.benchmarks.weekday_mean import weekday_mean

FIRST = date(2029, 1, 1)
DAYS = 365
SHARES = (0.2, 0.5, 0.8)
WEEKS = {
    "stall": ((9, 9, 9, 9, 12, 16, 0), 0.35, "vegetables"),
    "canteen": ((6, 6, 6, 6, 5, 0, 0), 0.25, "peelings"),
    "shop": ((4, 4, 4, 4, 5, 6, 2), 0.3, "fruit"),
    "household": ((1, 1, 1, 1, 1, 2, 2), 0.4, "peelings"),
    "garden": ((0, 0, 6, 0, 0, 10, 4), 0.6, "grass"),
}
EFFECTS = (
    *(
        DayEffect(date(2029, month, day), date(2029, month, day), 0, frozenset(), True)
        for month, day in ((1, 1), (4, 25), (5, 1), (6, 10), (8, 15), (10, 5), (11, 1), (12, 25))
    ),
    DayEffect(date(2029, 7, 23), date(2029, 8, 31), 0, frozenset({"canteen"})),
    DayEffect(date(2029, 6, 23), date(2029, 6, 24), 220, frozenset({"stall", "shop"})),
    DayEffect(date(2029, 9, 8), date(2029, 9, 9), 200, frozenset({"stall"})),
)


def rehearsed_streams(each: int, seed: int) -> list[GivenStream]:
    """`each` streams of every kind, of different sizes."""
    draw = np.random.default_rng(seed)
    return [
        GivenStream(
            f"{kind}-{index}",
            f"{kind}-{index}",
            kind,
            material,
            tuple(round(kg * 1000 * size) for kg in week),
            spread,
        )
        for kind, (week, spread, material) in WEEKS.items()
        for index, size in enumerate(np.exp(draw.normal(0, 0.5, each)))
    ]


def pinball(forecast_g: tuple[float, float, float], had_g: float) -> float:
    """Mean pinball loss over the three quantiles."""
    return sum(
        max(share * (had_g - q), (share - 1) * (had_g - q))
        for share, q in zip(SHARES, forecast_g, strict=True)
    ) / len(SHARES)


def main(each: int = 8, seeds: tuple[int, ...] = (11, 12, 13)) -> None:
    losses: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    inside: dict[str, list[int]] = {"under": [], "over": []}
    spent = {"ours": 0.0, "plain": 0.0}
    for seed in seeds:
        streams = rehearsed_streams(each, seed)
        year = draw_supply(streams, FIRST, DAYS, EFFECTS, seed=seed)
        said = np.random.default_rng([seed, 9]).random(year.amounts_g.shape) < 0.85
        for column, stream in enumerate(streams):
            declared = DeclaredPattern(stream.by_weekday_g, stream.spread_share)  # type: ignore[arg-type]
            days = [FIRST + timedelta(days=day) for day in range(DAYS)]
            percents = unusual_days(EFFECTS, stream.kind, days)
            had = year.amounts_g[:, column]
            mean_g = max(float(had.mean()), 1.0)
            weights = [
                Weight(days[day], int(had[day]))
                for day in range(DAYS)
                if said[day, column] and percents.get(days[day], 100) > 0
            ]
            for day in range(35, DAYS, 3):
                past = [weight for weight in weights if weight.on < days[day]]
                for ahead in (0, 3):
                    if day + ahead >= DAYS:
                        continue
                    on, truth = days[day + ahead], float(had[day + ahead])
                    started = time.process_time()
                    ours = learn(Past(declared, past, percents=percents), days[day]).forecast(on)
                    spent["ours"] += time.process_time() - started
                    started = time.process_time()
                    plain = weekday_mean(on, days[day], declared, past)
                    spent["plain"] += time.process_time() - started
                    percent = percents.get(on, 100) / 100
                    told = tuple(q * percent for q in plain)
                    mine = (ours.p20_g, ours.p50_g, ours.p80_g)
                    losses[stream.kind]["ours"].append(pinball(mine, truth) / mean_g)
                    losses[stream.kind]["plain"].append(pinball(plain, truth) / mean_g)
                    losses[stream.kind]["told"].append(pinball(told, truth) / mean_g)
                    if ours.p80_g:
                        inside["under"].append(truth < ours.p20_g)
                        inside["over"].append(truth > ours.p80_g)
    print(f"{len(seeds)} seeds, {each} streams a kind, {DAYS} days")
    print("kind        days   ours   plain  ratio   told   ratio")
    means: dict[str, list[float]] = defaultdict(list)
    for kind, by_method in losses.items():
        ours, plain, told = (float(np.mean(by_method[m])) for m in ("ours", "plain", "told"))
        for name, value in (("ours", ours), ("plain", plain), ("told", told)):
            means[name].append(value)
        print(
            f"{kind:10} {len(by_method['ours']):6} {ours:7.4f} {plain:7.4f} {ours / plain:5.3f}"
            f" {told:7.4f} {ours / told:5.3f}"
        )
    ours, plain, told = (float(np.mean(means[m])) for m in ("ours", "plain", "told"))
    print(f"{'all':17} {ours:7.4f} {plain:7.4f} {ours / plain:5.3f} {told:7.4f} {ours / told:5.3f}")
    count = sum(len(by_method["ours"]) for by_method in losses.values())
    print(f"below P20: {np.mean(inside['under']):.1%}; above P80: {np.mean(inside['over']):.1%}")
    print(
        f"CPU: {spent['ours'] / count * 1e3:.2f} ms a stream and evening;"
        f" plain mean {spent['plain'] / count * 1e3:.2f} ms"
    )


if __name__ == "__main__":
    main()
