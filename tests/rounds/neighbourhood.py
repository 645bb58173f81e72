"""Made-up rounds of one neighbourhood: one carrier, stalls that shut, homes that receive."""

from __future__ import annotations

import math
import random

from apps.rounds.core.problem import Carrier, End, Errand, Rounds, Ways, Window

HOUR_S = 3600
SIDE_M = 1_500
DETOUR = 1.3
CART_M_PER_S = 0.9


def neighbourhood(
    seed: int, sources: int = 12, homes: int = 10, *, limit_g: int = 60_000
) -> Rounds:
    """`sources` pickups, shared out over `homes`; the same seed gives the same round."""
    dice = random.Random(seed)
    points = [
        (dice.uniform(0, SIDE_M), dice.uniform(0, SIDE_M)) for _ in range(1 + sources + homes)
    ]
    metres = [
        [math.ceil(DETOUR * math.dist(a, b)) if a != b else 0 for b in points] for a in points
    ]
    seconds = [[math.ceil(way / CART_M_PER_S) for way in row] for row in metres]
    errands = []
    for number in range(max(sources, homes)):
        opens_s = 8 * HOUR_S + dice.randrange(4) * HOUR_S // 2
        stall = Window(opens_s, opens_s + dice.choice((2, 3, 4)) * HOUR_S)
        errands.append(
            Errand(
                f"e{number:02d}",
                dice.randrange(1_000, 12_000),
                End(1 + number % sources, stall, 180),
                End(1 + sources + number % homes, Window(8 * HOUR_S, 14 * HOUR_S), 120),
            )
        )
    carrier = Carrier("anna", 0, 0, Window(8 * HOUR_S, 14 * HOUR_S), limit_g)
    return Rounds(tuple(errands), (carrier,), (Ways.of(metres, seconds),))
