"""The most profitable things that fit into one bin, exactly, in whole units of weight.

Dynamic programming over the bin's room (R. E. Bellman, Dynamic Programming, 1957, from memory):
time and memory are things times units, so weights are first divided by what they have in
common.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FINE = 10**9
"""Parts of a unit that weights are counted in before their common measure is taken out."""
MOST_UNITS = 20_000
"""Room in common measures beyond which the table would be too large."""


@dataclass(frozen=True)
class Knapsack:
    """Whole weights of the things and the room, in a common measure."""

    weights: Ints
    room: int

    @classmethod
    def of(cls, weights: Floats, room: float) -> Knapsack | None:
        """From weights in any unit (each >= 0); None where the table would be too large."""
        fine = np.rint(weights * FINE).astype(np.int64)
        measure = max(1, int(np.gcd.reduce(fine))) if len(fine) else 1
        units = int(np.floor(room * FINE + 0.5)) // measure
        units = min(units, int(fine.sum()) // measure)
        return cls(fine // measure, units) if 0 <= units <= MOST_UNITS else None

    def fill(self, profits: Floats, taken: NDArray[np.bool_]) -> Ints | None:
        """The things (sorted) that together gain most and fit, those `taken` among them; None
        when these alone do not fit."""
        room = self.room - int(self.weights[taken].sum())
        if room < 0:
            return None
        kept = np.flatnonzero(taken)
        useful = np.flatnonzero((profits > 0) & ~taken & (self.weights <= room))
        if int(self.weights[useful].sum()) > room:
            useful = self._choose(useful, profits, room)
        return np.union1d(kept, useful)

    def _choose(self, useful: Ints, profits: Floats, room: int) -> Ints:
        best = np.zeros(room + 1)
        took = np.zeros((len(useful), room + 1), dtype=bool)
        for row, thing in enumerate(useful.tolist()):
            weight = int(self.weights[thing])
            gain = best[: room + 1 - weight] + profits[thing]
            here = best[weight:]
            np.greater(gain, here, out=took[row, weight:])
            best[weight:] = np.maximum(gain, here)
        left, chosen = room, []
        for row in range(len(useful) - 1, -1, -1):
            if took[row, left]:
                chosen.append(int(useful[row]))
                left -= int(self.weights[chosen[-1]])
        return np.array(chosen, dtype=np.int64)
