"""As few carriers as can be: the search with one fewer, guided to what it keeps leaving out.

The engine weighs ways, not people. So one tour is dissolved and everything becomes optional at a
price. After each burst of search the prices of what was left out rise, the mean staying as it
is, until all fits or the effort is spent (the penalty counters of Nagata and Kobayashi 2010,
"Guided ejection search for the pickup and delivery problem with time windows", from memory).
For carriers who are alike, and errands that must be done.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from apps.rounds.core.engine import Effort, search
from apps.rounds.core.problem import Carrier, Rounds, Tour

RISE = 1.3
"""How much dearer an errand becomes each time it is left out."""

BURST = 10_000
"""Iterations times errands between two changes of price."""

PRICE_LEGS = 12
"""Mean price of an errand, in mean costs of a way between two stops of the tours so far."""

FIRST, FEWER = 0.2, 0.55
"""Shares of the effort for the first tours and for dissolving one after the other; what is left
shortens the last ones."""


def asks_for_fewest(rounds: Rounds) -> bool:
    """Several carriers who differ in nothing, going out costs, and everything must be done."""
    alike = {replace(each, code="-") for each in rounds.carriers}
    return (
        len(rounds.carriers) > 1
        and len(alike) == 1
        and rounds.carriers[0].going_out_cost > 0
        and not rounds.carriers[0].breaks
        and all(e.value is None and e.carrier is None for e in rounds.errands)
    )


def fewest_carriers(rounds: Rounds, effort: Effort) -> tuple[Tour, ...]:
    """Tours of as few carriers as are found, then as cheap as are found."""
    tours = search(rounds, _part(effort, FIRST))
    spending = _Spending(_part(effort, FEWER))
    while len(tours) > 1 and not spending.is_over:
        fewer = _one_fewer(rounds, tours, spending)
        if not fewer:
            break
        tours = fewer
    out = {tour.carrier for tour in tours}
    last = replace(rounds, carriers=tuple(each for each in rounds.carriers if each.code in out))
    return search(last, _part(effort, 1 - FIRST - FEWER), tours)


@dataclass(slots=True)
class _Spending:
    """What is left of an effort: processor seconds where it names some, else iterations."""

    effort: Effort
    iterations: int = 0
    began_s: float = 0.0

    def __post_init__(self) -> None:
        self.began_s = time.process_time()

    @property
    def is_over(self) -> bool:
        """Nothing is left."""
        if self.effort.most_cpu_s is not None:
            return time.process_time() - self.began_s >= self.effort.most_cpu_s
        return self.iterations >= self.effort.iterations

    def burst(self, iterations: int) -> Effort:
        """The next one, under a seed of its own."""
        self.iterations += iterations
        return Effort(iterations, self.effort.seed + self.iterations)


def _part(effort: Effort, share: float) -> Effort:
    seconds = effort.most_cpu_s
    return replace(
        effort,
        iterations=max(1, round(effort.iterations * share)),
        most_cpu_s=None if seconds is None else seconds * share,
    )


def _one_fewer(
    rounds: Rounds, tours: Sequence[Tour], spending: _Spending
) -> tuple[Tour, ...] | None:
    """Everything done by one carrier fewer, or None when the effort is spent before."""
    ordered = sorted(tours, key=lambda tour: (-len(tour.visits), tour.carrier))
    kept, current = {tour.carrier for tour in ordered[:-1]}, tuple(ordered[:-1])
    carriers = tuple(
        replace(each, going_out_cost=0) for each in rounds.carriers if each.code in kept
    )
    mean = _mean_price(rounds, tours)
    prices = {each.code: float(mean) for each in rounds.errands}
    burst = max(10, BURST // len(rounds.errands))
    while not spending.is_over:
        errands = tuple(
            replace(each, value=max(1, round(prices[each.code]))) for each in rounds.errands
        )
        priced = Rounds(errands, carriers, rounds.ways)
        current = search(priced, spending.burst(burst), current)
        left = prices.keys() - {code for tour in current for code in tour.codes()}
        if not left:
            return current
        for code in left:
            prices[code] *= RISE
        scale = mean * len(prices) / sum(prices.values())
        prices = {code: price * scale for code, price in prices.items()}
    return None


def _mean_price(rounds: Rounds, tours: Sequence[Tour]) -> int:
    total = legs = 0
    for tour in tours:
        carrier = rounds.carrier[tour.carrier]
        total += _cost_of_ways(rounds, carrier, tour)
        legs += len(tour.visits) + 1
    return max(1, PRICE_LEGS * total // legs)


def _cost_of_ways(rounds: Rounds, carrier: Carrier, tour: Tour) -> int:
    ways = rounds.ways[carrier.ways]
    stops = [rounds.errand[visit.errand].end(visit.side).place for visit in tour.visits]
    cost, here = 0, carrier.start
    for place in (*stops, carrier.end):
        cost += carrier.metre_cost * ways.metres[here][place]
        cost += carrier.second_cost * ways.seconds[here][place]
        here = place
    return cost
