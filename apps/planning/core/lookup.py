"""A planning problem by code, and what a gram of each lot weighs on each limit.

Exact whole numbers: loads are in millionths of millionths of a gram (or millilitre), `UNIT`
to one, so that parts per million of parts per million are never rounded.
"""

from __future__ import annotations

from collections import defaultdict

from apps.planning.core.problem import PPM, Batch, Digester, Material, Pair, Problem

UNIT = PPM * PPM
LOADS = ("feed", "vs", "slurry")
"""The three caps of a day, in the order of every triple here."""


def cap_triple(digester: Digester, day: int) -> tuple[int, int, int]:
    """A day's caps in g, g VS and ml."""
    cap = digester.caps[day]
    return cap.feed_g, cap.vs_g, cap.slurry_ml


def load_triple(material: Material, usable_ppm: int) -> tuple[int, int, int]:
    """What one collected gram adds to each of the three loads, in UNITs."""
    return (
        usable_ppm * PPM,
        usable_ppm * material.vs_ppm,
        usable_ppm * material.slurry_ppm,
    )


class Index:
    """A problem by code; shared by all standings of it."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.materials = {each.code: each for each in problem.materials}
        self.digesters = {each.code: each for each in problem.digesters}
        self.sources = {each.code: each for each in problem.sources}
        self.batches = {each.code: each for each in problem.batches}
        self.pairs = {(each.source, each.digester): each for each in problem.pairs}
        self.stock = {lot.code: lot for each in problem.digesters for lot in each.stock}
        self.started: dict[tuple[str, str, int], int] = defaultdict(int)
        for each in problem.started:
            self.started[each.batch, each.digester, each.day] += each.amount_g
        self.pinned = {(pin.batch, pin.digester, pin.day) for pin in problem.pins}
        self.exact = set(self.started) | {
            (pin.batch, pin.digester, pin.day) for pin in problem.pins if pin.amount_g is not None
        }
        """Placements whose amount is not the plan's to choose."""
        self.announced = {
            (self.batches[each.batch].source, each.digester, each.day)
            for each in problem.previous
            if each.batch in self.batches
        }
        """(source, digester, day) of the plan that this one replaces."""
        self.banned = {(ban.source, ban.digester, ban.day) for ban in problem.bans}
        self.homes_near: dict[str, list[Pair]] = defaultdict(list)
        self.sources_near: dict[str, list[Pair]] = defaultdict(list)
        for pair in sorted(problem.pairs, key=lambda p: (p.distance_m, p.digester, p.source)):
            self.homes_near[pair.source].append(pair)
            self.sources_near[pair.digester].append(pair)
        self._loads: dict[tuple[str, str], tuple[int, int, int]] = {}

    def material_of(self, lot: str) -> Material:
        stock = self.stock.get(lot)
        return self.materials[stock.material if stock else self.batches[lot].material]

    def loads_of(self, lot: str, digester: str) -> tuple[int, int, int]:
        key = (lot, digester)
        if key not in self._loads:
            usable_ppm = PPM
            if lot not in self.stock:
                pair = self.pairs.get((self.batches[lot].source, digester))
                usable_ppm = pair.usable_ppm if pair else PPM
            self._loads[key] = load_triple(self.material_of(lot), usable_ppm)
        return self._loads[key]

    def bin_load_of(self, batch: str, digester: str) -> int:
        """What one collected gram may take of the bin, in UNITs."""
        pair = self.pairs.get((self.batches[batch].source, digester))
        return (pair.usable_ppm if pair else PPM) * self.batches[batch].high_ppm

    def sure_ppm_of(self, lot: str) -> int:
        """What surely comes of each gram; all of what is in a bin already."""
        return PPM if lot in self.stock else self.batches[lot].sure_ppm

    def is_banned(self, source: str, digester: str, day: int) -> bool:
        return (source, digester, None) in self.banned or (source, digester, day) in self.banned

    def is_fixed(self, batch: str, digester: str, day: int) -> bool:
        """Pinned or started: not ours to take away."""
        return (batch, digester, day) in self.pinned or (batch, digester, day) in self.started

    def feeding_days(self, batch: Batch, day: int) -> range:
        """Days on which what is collected on `day` may be fed."""
        return range(day, min(batch.feed_by_day, self.problem.days - 1) + 1)

    def collection_days(self, batch: Batch) -> range:
        last = min(batch.collect_by_day, batch.feed_by_day, self.problem.days - 1)
        return range(max(0, batch.ready_day), last + 1)
