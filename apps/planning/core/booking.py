"""Exact room: every gram is booked against whole numbers of what is left of caps, bin, shares,
batch and carrying."""

from __future__ import annotations

from collections import defaultdict

from apps.planning.core.flow_columns import PartKey
from apps.planning.core.gram_flows import Flow, list_part_flows, list_stock_flows
from apps.planning.core.lookup import UNIT
from apps.planning.core.model import Floats, Model
from apps.planning.core.problem import PPM, Placement
from apps.planning.core.result import Feed


class Booking:
    """The room that is left, and what is booked against it; nothing at first."""

    def __init__(self, model: Model, x: Floats) -> None:
        problem = self.problem = model.problem
        self.parts = list_part_flows(model, x)
        self.stock_flows = list_stock_flows(model, x)
        source_at = {source.code: i for i, source in enumerate(problem.sources)}
        self.source_of = [source_at[batch.source] for batch in problem.batches]
        self.batch_left = [b.amount_g for b in problem.batches]
        self.feed_left = [[c.feed_g * UNIT for c in d.caps] for d in problem.digesters]
        self.vs_left = [[c.vs_g * UNIT for c in d.caps] for d in problem.digesters]
        self.slurry_left = [[c.slurry_ml * UNIT for c in d.caps] for d in problem.digesters]
        self.bin_left = [[d.bin_g * UNIT] * problem.days for d in problem.digesters]
        self.lot_left = [[lot.amount_g for lot in d.stock] for d in problem.digesters]
        for h, digester in enumerate(problem.digesters):
            for day in range(problem.days):
                alive = sum(lot.amount_g for lot in digester.stock if lot.feed_by_day >= day)
                self.bin_left[h][day] -= alive * UNIT
        self.visit_g: dict[tuple[int, int, int], int] = defaultdict(int)
        self.shares = self._open_shares()
        """By (digester, cap, day) what the capped group may still weigh, times UNIT * PPM."""
        self.pinned: set[PartKey] = set()
        self.exact: dict[PartKey, int] = {}
        """Parts whose grams a pin or a begun pickup says; `pinned` has those of any amount."""
        self._read_pins()

    def _open_shares(self) -> dict[tuple[int, int, int], int]:
        problem = self.problem
        materials = {m.code: m for m in problem.materials}
        shares = {}
        for h, digester in enumerate(problem.digesters):
            for c, cap in enumerate(digester.share_caps):
                for day in range(problem.days):
                    room = 0
                    for own in digester.own_waste:
                        if own.day != day:
                            continue
                        material = materials[own.material]
                        unit = material.vs_ppm if cap.basis == "vs" else PPM
                        member = cap.group in material.share_groups
                        room += own.amount_g * unit * PPM * (cap.share_ppm - (PPM if member else 0))
                    # Over its share by own waste alone: nothing of the group, nothing to check.
                    shares[h, c, day] = room
        return shares

    def _read_pins(self) -> None:
        problem = self.problem
        batch_at = {b.code: i for i, b in enumerate(problem.batches)}
        digester_at = {d.code: i for i, d in enumerate(problem.digesters)}
        started: dict[PartKey, int] = defaultdict(int)
        for done in problem.started:
            started[batch_at[done.batch], digester_at[done.digester], done.day] += done.amount_g
        self.exact.update(started)
        for pin in problem.pins:
            key = (batch_at[pin.batch], digester_at[pin.digester], pin.day)
            self.pinned.add(key)
            if pin.amount_g is not None and key not in started:
                self.exact[key] = pin.amount_g
        self.pinned |= set(started)

    def room(self, flow: Flow, *, shares: bool) -> int:
        """Whole grams that may still be added to a flow."""
        h, day = flow.digester, flow.feed_day
        limits = [self.lot_left[h][flow.lot] if flow.is_stock else self.batch_left[flow.lot]]
        for left, unit in (
            (self.feed_left[h][day], flow.usable),
            (self.vs_left[h][day], flow.vs),
            (self.slurry_left[h][day], flow.slurry),
        ):
            if unit > 0:
                limits.append(left // unit)
        if not flow.is_stock:
            carried_g = self.visit_g[self.source_of[flow.lot], h, flow.collect_day]
            limits.append(self.problem.digesters[h].carry_limit_g - carried_g)
            if flow.in_bin > 0:
                lowest = min(self.bin_left[h][flow.collect_day : day + 1])
                limits.append(lowest // flow.in_bin)
        if shares:
            for c, cap in enumerate(self.problem.digesters[h].share_caps):
                if cap.group in flow.groups:
                    unit = flow.vs if cap.basis == "vs" else flow.usable
                    if unit > 0 and cap.share_ppm < PPM:
                        limits.append(self.shares[h, c, day] // (unit * (PPM - cap.share_ppm)))
        return max(0, min(limits))

    def book(self, flow: Flow, grams: int) -> None:
        """Books grams (negative to take back)."""
        if grams == 0:
            return
        h, day = flow.digester, flow.feed_day
        flow.amount_g += grams
        self.feed_left[h][day] -= grams * flow.usable
        self.vs_left[h][day] -= grams * flow.vs
        self.slurry_left[h][day] -= grams * flow.slurry
        if flow.is_stock:
            self.lot_left[h][flow.lot] -= grams
            last = min(self.problem.digesters[h].stock[flow.lot].feed_by_day, self.problem.days - 1)
            for t in range(day + 1, last + 1):
                self.bin_left[h][t] += grams * UNIT
        else:
            self.batch_left[flow.lot] -= grams
            self.visit_g[self.source_of[flow.lot], h, flow.collect_day] += grams
            for t in range(flow.collect_day, day + 1):
                self.bin_left[h][t] -= grams * flow.in_bin
        for c, cap in enumerate(self.problem.digesters[h].share_caps):
            unit = flow.vs if cap.basis == "vs" else flow.usable
            member = PPM if cap.group in flow.groups else 0
            self.shares[h, c, day] += grams * unit * (cap.share_ppm - member)

    def drop(self, key: PartKey) -> None:
        """Takes a part back whole."""
        for flow in self.parts[key]:
            self.book(flow, -flow.amount_g)

    def add_to(self, key: PartKey, most_g: int) -> int:
        """Books up to `most_g` more on a part's flows; the grams booked."""
        added = 0
        for flow in self.parts[key]:
            grams = min(most_g - added, self.room(flow, shares=True))
            self.book(flow, grams)
            added += grams
        return added

    def part_g(self, key: PartKey) -> int:
        return sum(flow.amount_g for flow in self.parts[key])

    def least_part_g(self, key: PartKey) -> int:
        """The smallest part of a batch that is worth a line at a home."""
        digester = self.problem.digesters[key[1]]
        least_g = min(self.problem.rules.smallest_part_g, digester.min_pickup_g)
        return min(least_g, self.problem.batches[key[0]].amount_g)

    def visit_of(self, key: PartKey) -> tuple[int, int, int]:
        return self.source_of[key[0]], key[1], key[2]

    def result(self) -> tuple[tuple[Placement, ...], tuple[Feed, ...]]:
        """What is booked."""
        problem = self.problem
        feeds: dict[tuple[str, int, str], int] = defaultdict(int)
        placed: dict[tuple[str, str, int], int] = defaultdict(int)
        for (b, h, day), flows in self.parts.items():
            for flow in flows:
                if flow.amount_g:
                    code = problem.batches[b].code
                    feeds[problem.digesters[h].code, flow.feed_day, code] += flow.amount_g
                    placed[code, problem.digesters[h].code, day] += flow.amount_g
        for flow in self.stock_flows:
            if flow.amount_g:
                digester = problem.digesters[flow.digester]
                feeds[digester.code, flow.feed_day, digester.stock[flow.lot].code] += flow.amount_g
        return (
            tuple(Placement(b, d, day, g) for (b, d, day), g in sorted(placed.items())),
            tuple(Feed(d, day, lot, g) for (d, day, lot), g in sorted(feeds.items())),
        )
