"""As few carriers as can be: the search with one fewer, in two ways.

First from nothing, everything having to be done, until the engine finds tours that keep every
limit. Where that fails, guided: one tour is dissolved and everything becomes optional at a price;
after each burst of search the prices of what was left out rise, the mean staying as it is, until
all fits (the penalty counters of Nagata and Kobayashi 2010, "Guided ejection search for the
pickup and delivery problem with time windows", from memory). What one way does not find the other
often does (`tests.benchmarks.rounds_lilim`). For carriers who are alike, and errands that must
be done.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from apps.rounds.core.engine import Effort, search
from apps.rounds.core.problem import Carrier, Rounds, Tour
from apps.rounds.core.schedule import timing

RISE = 1.3
"""How much dearer an errand becomes each time it is left out."""

BURST = 10_000
"""Iterations times errands between two changes of price."""

PRICE_LEGS = 12
"""Mean price of an errand, in mean costs of a way between two stops of the tours so far."""

FIRST, AFRESH, GUIDED = 0.15, 0.3, 0.25
"""Shares of the effort for the first tours and for the two ways to one fewer; what is left
shortens the last ones."""

MANY = 75
"""Errands; with more the first tours matter less and one carrier fewer is harder to find."""

FIRST_OF_MANY, AFRESH_OF_MANY, GUIDED_OF_MANY = 0.05, 0.45, 0.3
"""The same shares with many errands."""


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
    is_many = len(rounds.errands) > MANY
    shares = (FIRST_OF_MANY, AFRESH_OF_MANY, GUIDED_OF_MANY) if is_many else (FIRST, AFRESH, GUIDED)
    tours = search(rounds, _part(effort, shares[0]))
    afresh, guided = (_Spending(_part(effort, share)) for share in shares[1:])
    while len(tours) > 1:
        fewer = _afresh(rounds, tours, afresh) or _guided(rounds, tours, guided)
        if not fewer:
            break
        tours = fewer
    out = {tour.carrier for tour in tours}
    last = replace(rounds, carriers=tuple(each for each in rounds.carriers if each.code in out))
    return search(last, _part(effort, 1 - sum(shares)), tours)


@dataclass(slots=True)
class _Spending:
    """What is left of an effort: processor seconds where it names some, else iterations."""

    effort: Effort
    iterations: int = 0
    seconds: float = 0.0

    @property
    def is_over(self) -> bool:
        """Nothing is left."""
        if self.effort.most_cpu_s is not None:
            return self.seconds >= self.effort.most_cpu_s
        return self.iterations >= self.effort.iterations

    def search(
        self, rounds: Rounds, effort: Effort, start_from: Sequence[Tour] = ()
    ) -> tuple[Tour, ...]:
        """One search at the cost of this effort, under a seed of its own."""
        began_s = time.process_time()
        self.iterations += effort.iterations
        found = search(rounds, replace(effort, seed=effort.seed + self.iterations), start_from)
        self.seconds += time.process_time() - began_s
        return found


def _part(effort: Effort, share: float) -> Effort:
    seconds = effort.most_cpu_s
    return replace(
        effort,
        iterations=max(1, round(effort.iterations * share)),
        most_cpu_s=None if seconds is None else seconds * share,
    )


def _afresh(rounds: Rounds, tours: Sequence[Tour], spending: _Spending) -> tuple[Tour, ...] | None:
    """Everything done by one carrier fewer, searched for from nothing."""
    if spending.is_over:
        return None
    fewer = replace(rounds, carriers=_but_one(rounds, tours))
    rest = spending.effort
    if rest.most_cpu_s is not None:
        rest = replace(rest, most_cpu_s=rest.most_cpu_s - spending.seconds)
    else:
        left = rest.iterations - spending.iterations
        rest = replace(rest, iterations=max(1, left // 2))
    found = spending.search(fewer, replace(rest, ends_when_sound=True))
    done = {code for tour in found for code in tour.codes()}
    is_sound = len(done) == len(rounds.errands) and not any(
        timing(fewer, tour).breaches for tour in found
    )
    return found if is_sound else None


def _but_one(rounds: Rounds, tours: Sequence[Tour]) -> tuple[Carrier, ...]:
    """Those who go out, without who does least; going out costs nothing now."""
    ordered = sorted(tours, key=lambda tour: (-len(tour.visits), tour.carrier))
    kept = {tour.carrier for tour in ordered[:-1]}
    return tuple(replace(each, going_out_cost=0) for each in rounds.carriers if each.code in kept)


def _guided(rounds: Rounds, tours: Sequence[Tour], spending: _Spending) -> tuple[Tour, ...] | None:
    """Everything done by one carrier fewer, guided by prices."""
    carriers = _but_one(rounds, tours)
    kept = {each.code for each in carriers}
    current = tuple(tour for tour in tours if tour.carrier in kept)
    mean = _mean_price(rounds, tours)
    prices = {each.code: float(mean) for each in rounds.errands}
    burst = max(10, BURST // len(rounds.errands))
    while not spending.is_over:
        errands = tuple(
            replace(each, value=max(1, round(prices[each.code]))) for each in rounds.errands
        )
        priced = Rounds(errands, carriers, rounds.ways)
        current = spending.search(priced, Effort(burst), current)
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
