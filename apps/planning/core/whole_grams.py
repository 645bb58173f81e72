"""From an answer in kilograms to a plan in whole grams that keeps every limit exactly.

Every gram is booked against exact integer room: caps, bin, shares, batch, carrying. What the
rounding takes off is topped up again where there is room; a visit that falls under the
smallest pickup is dropped, and so is a part of a batch too small to be worth a line.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from apps.planning.core.model import Floats, Model
from apps.planning.core.problem import PPM, Placement
from apps.planning.core.result import Feed

PartKey = tuple[int, int, int]
"""(batch, digester, collection day), indices into the canonical problem."""
UNIT = PPM * PPM


@dataclass
class _Flow:
    """One thing fed on one day: grams `amount` of a lot, its weights per gram times UNIT."""

    digester: int
    collect_day: int
    feed_day: int
    usable: int
    vs: int
    slurry: int
    in_bin: int
    groups: tuple[str, ...]
    lot: tuple[int, int]
    """(0, batch) or (1, stock lot index)."""
    wanted_g: int
    amount_g: int = 0


def round_to_grams(model: Model, x: Floats) -> tuple[tuple[Placement, ...], tuple[Feed, ...]]:
    """Placements and feeds of the columns `x` of a model, exact in whole grams."""
    return _Booking(model, x).close()


class _Booking:
    """The exact room that is left, and what is booked against it."""

    def __init__(self, model: Model, x: Floats) -> None:
        problem = model.problem
        self.model, self.problem = model, problem
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
        self.pinned: set[PartKey] = set()
        self.shares: dict[tuple[int, int, int], int] = {}
        self._open_shares()
        self.parts: dict[PartKey, list[_Flow]] = defaultdict(list)
        self.stock_flows: list[_Flow] = []
        self._list_flows(x)

    def close(self) -> tuple[tuple[Placement, ...], tuple[Feed, ...]]:
        pinned = sorted(key for key in self.parts if key in self.pinned)
        loose = sorted(key for key in self.parts if key not in self.pinned)
        for flow in self.stock_flows:
            self._book(flow, min(flow.wanted_g, self._room(flow, shares=False)))
        for key in pinned + loose:
            self._book_part(key)
        self._repair()
        for key in loose:
            if self.problem.batches[key[0]].divisible and any(f.amount_g for f in self.parts[key]):
                for flow in self.parts[key]:
                    self._book(flow, self._room(flow, shares=True))
        for flow in self.stock_flows:
            self._book(flow, self._room(flow, shares=True))
        self._repair()
        return self._list_result()

    # Setting up.

    def _open_shares(self) -> None:
        materials = {m.code: m for m in self.problem.materials}
        for h, digester in enumerate(self.problem.digesters):
            for c, cap in enumerate(digester.share_caps):
                for day in range(self.problem.days):
                    room = 0
                    for own in digester.own_waste:
                        if own.day != day:
                            continue
                        material = materials[own.material]
                        unit = material.vs_ppm if cap.basis == "vs" else PPM
                        member = cap.group in material.share_groups
                        room += own.amount_g * unit * PPM * (cap.share_ppm - (PPM if member else 0))
                    # Over its share by own waste alone: nothing of the group, nothing to check.
                    self.shares[h, c, day] = room

    def _list_flows(self, x: Floats) -> None:
        model, problem = self.model, self.problem
        materials = {m.code: m for m in problem.materials}
        flows = model.flows
        grams = np.rint(x * 1000 * 1000).astype(np.int64)  # milligrams
        used = np.flatnonzero(grams[: len(flows.batch)] >= 500)
        keys = {
            (int(flows.batch[i]), int(flows.digester[i]), int(flows.collect_day[i])) for i in used
        }
        if not keys:
            picked = used
        else:
            code = (flows.batch * (len(problem.digesters) + 1) + flows.digester) * (
                problem.days + 1
            ) + flows.collect_day
            picked = np.flatnonzero(np.isin(code, code[used]))
        for i in picked.tolist():
            batch = problem.batches[int(flows.batch[i])]
            material = materials[batch.material]
            pair_at = int(flows.pair[i])
            usable = problem.pairs[pair_at].usable_ppm if pair_at >= 0 else PPM
            key = (int(flows.batch[i]), int(flows.digester[i]), int(flows.collect_day[i]))
            self.parts[key].append(
                _Flow(
                    key[1],
                    key[2],
                    int(flows.feed_day[i]),
                    usable * PPM,
                    usable * material.vs_ppm,
                    usable * material.slurry_ppm,
                    usable * batch.high_ppm,
                    material.share_groups,
                    (0, key[0]),
                    int(grams[i]),
                )
            )
        for h, lot_index, day, column in model.stock_columns:
            lot = problem.digesters[h].stock[lot_index]
            material = materials[lot.material]
            self.stock_flows.append(
                _Flow(
                    h,
                    -1,
                    day,
                    UNIT,
                    material.vs_ppm * PPM,
                    material.slurry_ppm * PPM,
                    UNIT,
                    material.share_groups,
                    (1, lot_index),
                    int(grams[column]) // 1000,
                )
            )
        self.exact: dict[PartKey, int] = {}
        batch_at = {b.code: i for i, b in enumerate(problem.batches)}
        digester_at = {d.code: i for i, d in enumerate(problem.digesters)}
        started: dict[PartKey, int] = defaultdict(int)
        for done in problem.started:
            key = (batch_at[done.batch], digester_at[done.digester], done.day)
            started[key] += done.amount_g
        self.exact.update(started)
        for pin in problem.pins:
            key = (batch_at[pin.batch], digester_at[pin.digester], pin.day)
            self.pinned.add(key)
            if pin.amount_g is not None and key not in started:
                self.exact[key] = pin.amount_g
        self.pinned |= set(started)

    # Booking.

    def _room(self, flow: _Flow, *, shares: bool) -> int:
        """Whole grams that may still be added to a flow."""
        h, day = flow.digester, flow.feed_day
        kind, at = flow.lot
        limits = [self.lot_left[h][at] if kind else self.batch_left[at]]
        for left, unit in (
            (self.feed_left[h][day], flow.usable),
            (self.vs_left[h][day], flow.vs),
            (self.slurry_left[h][day], flow.slurry),
        ):
            if unit > 0:
                limits.append(left // unit)
        if kind == 0:
            visit = (self._source_of(at), h, flow.collect_day)
            digester = self.problem.digesters[h]
            limits.append(digester.carry_limit_g - self.visit_g[visit])
            if flow.in_bin > 0:
                over = [
                    self.bin_left[h][t] // flow.in_bin for t in range(flow.collect_day, day + 1)
                ]
                limits.append(min(over))
        if shares:
            for c, cap in enumerate(self.problem.digesters[h].share_caps):
                if cap.group in flow.groups:
                    unit = flow.vs if cap.basis == "vs" else flow.usable
                    if unit > 0 and cap.share_ppm < PPM:
                        limits.append(self.shares[h, c, day] // (unit * (PPM - cap.share_ppm)))
        return max(0, min(limits))

    def _book(self, flow: _Flow, grams: int) -> None:
        """Books grams (negative to take back)."""
        if grams == 0:
            return
        h, day = flow.digester, flow.feed_day
        kind, at = flow.lot
        flow.amount_g += grams
        self.feed_left[h][day] -= grams * flow.usable
        self.vs_left[h][day] -= grams * flow.vs
        self.slurry_left[h][day] -= grams * flow.slurry
        if kind == 0:
            self.batch_left[at] -= grams
            self.visit_g[self._source_of(at), h, flow.collect_day] += grams
            for t in range(flow.collect_day, day + 1):
                self.bin_left[h][t] -= grams * flow.in_bin
        else:
            self.lot_left[h][at] -= grams
            last = min(self.problem.digesters[h].stock[at].feed_by_day, self.problem.days - 1)
            for t in range(day + 1, last + 1):
                self.bin_left[h][t] += grams * UNIT
        for c, cap in enumerate(self.problem.digesters[h].share_caps):
            unit = flow.vs if cap.basis == "vs" else flow.usable
            member = PPM if cap.group in flow.groups else 0
            self.shares[h, c, day] += grams * unit * (cap.share_ppm - member)

    def _source_of(self, batch: int) -> int:
        return self._sources[batch]

    @property
    def _sources(self) -> list[int]:
        cached: list[int] | None = getattr(self, "_source_list", None)
        if cached is None:
            at = {s.code: i for i, s in enumerate(self.problem.sources)}
            cached = [at[b.source] for b in self.problem.batches]
            self._source_list = cached
        return cached

    def _book_part(self, key: PartKey) -> None:
        flows = self.parts[key]
        batch = self.problem.batches[key[0]]
        total_mg = sum(flow.wanted_g for flow in flows)
        if key in self.exact:
            total = self.exact[key]
        elif batch.divisible:
            total = (total_mg + 10) // 1000
        else:
            total = batch.amount_g if total_mg >= 500 * batch.amount_g else 0
        left = total
        for flow in flows:
            grams = min((flow.wanted_g + 10) // 1000, left, self._room(flow, shares=False))
            self._book(flow, grams)
            left -= grams
        for flow in flows:
            grams = min(left, self._room(flow, shares=False))
            self._book(flow, grams)
            left -= grams
        if left and not batch.divisible and key not in self.pinned:
            self._drop(key)

    def _drop(self, key: PartKey) -> None:
        for flow in self.parts[key]:
            self._book(flow, -flow.amount_g)

    # Repair: shares first, then pickups that became too small; both only ever take away.

    def _repair(self) -> None:
        while self._trim_shares() or self._drop_small_visits() or self._drop_crumbs():
            pass

    def _trim_shares(self) -> bool:
        trimmed = False
        over = [key for key, room in sorted(self.shares.items()) if room < 0]
        for h, c, day in over:
            cap = self.problem.digesters[h].share_caps[c]
            members = [
                (key, flow)
                for key in sorted(self.parts)
                if key[1] == h
                for flow in self.parts[key]
                if flow.feed_day == day and flow.amount_g and cap.group in flow.groups
            ]
            members.sort(key=lambda item: item[0] in self.pinned)
            stock = [
                flow
                for flow in self.stock_flows
                if flow.digester == h
                and flow.feed_day == day
                and flow.amount_g
                and cap.group in flow.groups
            ]
            for flow in stock:
                trimmed |= self._trim(flow, h, c, day)
            for key, flow in members:
                if self.shares[h, c, day] >= 0 or key in self.pinned:
                    break
                if not self.problem.batches[key[0]].divisible:
                    self._drop(key)
                    trimmed = True
                else:
                    trimmed |= self._trim(flow, h, c, day)
        return trimmed

    def _trim(self, flow: _Flow, h: int, c: int, day: int) -> bool:
        cap = self.problem.digesters[h].share_caps[c]
        unit = (flow.vs if cap.basis == "vs" else flow.usable) * (PPM - cap.share_ppm)
        missing = -self.shares[h, c, day]
        if missing <= 0 or unit <= 0:
            return False
        grams = min(flow.amount_g, -(-missing // unit))
        self._book(flow, -grams)
        return grams > 0

    def _drop_small_visits(self) -> bool:
        by_visit: dict[tuple[int, int, int], list[PartKey]] = defaultdict(list)
        for key in sorted(self.parts):
            if any(flow.amount_g for flow in self.parts[key]):
                by_visit[self._source_of(key[0]), key[1], key[2]].append(key)
        dropped = False
        for visit, keys in by_visit.items():
            if any(not self.problem.batches[k[0]].divisible for k in keys):
                continue
            if any(k in self.pinned for k in keys):
                continue
            if self.visit_g[visit] < self.problem.digesters[visit[1]].min_pickup_g:
                for key in keys:
                    for flow in self.parts[key]:
                        if self.visit_g[visit] < self.problem.digesters[visit[1]].min_pickup_g:
                            self._book(flow, self._room(flow, shares=True))
                if self.visit_g[visit] < self.problem.digesters[visit[1]].min_pickup_g:
                    for key in keys:
                        self._drop(key)
                    dropped = True
        return dropped

    def _drop_crumbs(self) -> bool:
        """Parts of batches under the smallest worthwhile one: filled up from what is left or
        from the batch's other parts that can spare it, or else given to these."""
        dropped = False
        by_batch: dict[int, list[PartKey]] = defaultdict(list)
        for key in sorted(self.parts):
            if self._part_g(key):
                by_batch[key[0]].append(key)
        for keys in by_batch.values():
            for key in keys:
                if self._is_crumb(key) and not self._fill_crumb(key, keys):
                    self._drop(key)
                    for other in keys:
                        if other not in self.exact and self._part_g(other):
                            self._add_to(other, self.problem.batches[key[0]].amount_g)
                    dropped = True
        return dropped

    def _part_g(self, key: PartKey) -> int:
        return sum(flow.amount_g for flow in self.parts[key])

    def _least_part_g(self, key: PartKey) -> int:
        digester = self.problem.digesters[key[1]]
        least_g = min(self.problem.rules.smallest_part_g, digester.min_pickup_g)
        return min(least_g, self.problem.batches[key[0]].amount_g)

    def _is_crumb(self, key: PartKey) -> bool:
        return key not in self.pinned and 0 < self._part_g(key) < self._least_part_g(key)

    def _fill_crumb(self, key: PartKey, keys: list[PartKey]) -> bool:
        """Whether the part reaches the least; else all is as it was."""
        taken: list[tuple[_Flow, int]] = []
        missing_g = self._least_part_g(key) - self._part_g(key)
        spare_g = self.batch_left[key[0]]
        for other in keys:
            spare = self._part_g(other) - self._least_part_g(other)
            visit = (self._source_of(key[0]), other[1], other[2])
            spare = min(spare, self.visit_g[visit] - self.problem.digesters[other[1]].min_pickup_g)
            if other == key or other in self.pinned or spare_g >= missing_g or spare <= 0:
                continue
            for flow in self.parts[other]:
                grams = min(flow.amount_g, spare, missing_g - spare_g)
                if grams > 0:
                    self._book(flow, -grams)
                    taken.append((flow, grams))
                    spare -= grams
                    spare_g += grams
        if self._add_to(key, missing_g) == missing_g:
            return True
        self._drop(key)
        for flow, grams in taken:
            self._book(flow, grams)
        return False

    def _add_to(self, key: PartKey, most_g: int) -> int:
        """Books up to `most_g` more on a part's flows; the grams booked."""
        added = 0
        for flow in self.parts[key]:
            grams = min(most_g - added, self._room(flow, shares=True))
            self._book(flow, grams)
            added += grams
        return added

    def _list_result(self) -> tuple[tuple[Placement, ...], tuple[Feed, ...]]:
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
                feeds[digester.code, flow.feed_day, digester.stock[flow.lot[1]].code] += (
                    flow.amount_g
                )
        return (
            tuple(Placement(b, d, day, g) for (b, d, day), g in sorted(placed.items())),
            tuple(Feed(d, day, lot, g) for (d, day, lot), g in sorted(feeds.items())),
        )
