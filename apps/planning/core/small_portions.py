"""Portions of a material on a day that are too small to be worth weighing.

A home is told each day how much of each material to feed, and three grams beside six kilograms
help nobody. Such a portion is fed on another day or filled up from one; where a day is full it
changes places with something else. None of that touches a wish, as these count what a home is
fed over all days. Only where nothing of it can be done, and the home surely has its minimum
and target without, it is left over; otherwise it stays.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from itertools import islice, product

from apps.planning.core.booking import Booking
from apps.planning.core.gram_flows import Flow
from apps.planning.core.lookup import UNIT
from apps.planning.core.problem import PPM

Move = tuple[Flow, Flow | None, int]
"""So many grams from one flow to another, or (None) back to the source."""
Portion = tuple[int, str]
"""(day, material)."""
MOST_TRIED = 50
"""Ways to spread a portion of several lots over other days."""


def settle_portions(booking: Booking) -> bool:
    """Whether anything was moved. What is under `Rules.smallest_portion_g`, own kitchen waste of
    the same material counted, is settled home by home."""
    if not booking.problem.rules.smallest_portion_g:
        return False
    flows: dict[int, list[list[Flow]]] = defaultdict(list)
    for key in sorted(booking.parts):
        if booking.part_g(key):
            flows[key[1]].append(booking.parts[key])
    lots: dict[tuple[int, int], list[Flow]] = defaultdict(list)
    for flow in booking.stock_flows:
        lots[flow.digester, flow.lot].append(flow)
    for (h, _), same in sorted(lots.items()):
        flows[h].append(same)
    moved = [_Home(booking, h, each).settle() for h, each in sorted(flows.items())]
    return any(moved)


class _Home:
    """What one digester is fed; `lots`: the flows of one part or stock lot together."""

    def __init__(self, booking: Booking, h: int, lots: list[list[Flow]]) -> None:
        self.booking, self.h = booking, h
        self.digester = booking.problem.digesters[h]
        self.least_g = booking.problem.rules.smallest_portion_g
        self.flows = [flow for lot in lots for flow in lot]
        self.days_of = {id(flow): lot for lot in lots for flow in lot}
        self.own_g: dict[Portion, int] = defaultdict(int)
        for own in self.digester.own_waste:
            self.own_g[own.day, own.material] += own.amount_g

    def settle(self) -> bool:
        """Each success leaves fewer small portions, so that this ends."""
        ways: list[Callable[[Portion], Iterator[list[Move]]]] = [
            self._elsewhere,
            self._filled_up,
            self._in_exchange,
            self._left_over,
        ]
        moved = False
        while True:
            small, rooms = self._small(), self._rooms()
            if not any(
                self._try(moves, len(small), rooms)
                for portion in small
                for way in ways
                for moves in way(portion)
            ):
                return moved
            moved = True

    def _small(self) -> list[Portion]:
        brought: dict[Portion, int] = defaultdict(int)
        for flow in self.flows:
            brought[flow.feed_day, flow.material] += flow.amount_g
        return sorted(
            portion
            for portion, grams in brought.items()
            if 0 < grams < self.least_g - self.own_g.get(portion, 0)
        )

    def _try(self, moves: list[Move], small: int, rooms: list[int]) -> bool:
        """Makes the moves if every limit holds and fewer portions are small; else nothing."""
        booked = [(flow, -grams) for flow, _, grams in moves]
        for flow, grams in booked:
            self.booking.book(flow, grams)
        fits = True
        for _, to, grams in moves:
            fits = fits and (to is None or self.booking.room(to, shares=True) >= grams)
            if to is not None and fits:
                self.booking.book(to, grams)
                booked.append((to, grams))
        if fits and len(self._small()) < small and self._keeps(rooms):
            return True
        for flow, grams in reversed(booked):
            self.booking.book(flow, -grams)
        return False

    def _keeps(self, rooms: list[int]) -> bool:
        return all(now >= min(0, then) for now, then in zip(self._rooms(), rooms, strict=True))

    def _rooms(self) -> list[int]:
        """What is left of the bin on each day, and of the shares where the group is fed."""
        booking, days = self.booking, range(self.booking.problem.days)
        fed = {(g, flow.feed_day) for flow in self.flows if flow.amount_g for g in flow.groups}
        return [
            *booking.bin_left[self.h],
            *(
                booking.shares[self.h, c, day] if (cap.group, day) in fed else 0
                for c, cap in enumerate(self.digester.share_caps)
                for day in days
            ),
        ]

    # Ways to settle a portion, each as moves to try.

    def _elsewhere(self, portion: Portion) -> Iterator[list[Move]]:
        """On other days, where most of the material is fed first."""
        mine = self._fed(portion)
        choices = [
            sorted(
                (to for to in self.days_of[id(flow)] if to.feed_day != portion[0]),
                key=lambda to: (-self._fed_g((to.feed_day, to.material)), to.feed_day),
            )
            for flow in mine
        ]
        for chosen in islice(product(*choices), MOST_TRIED):
            yield [(flow, to, flow.amount_g) for flow, to in zip(mine, chosen, strict=True)]

    def _filled_up(self, portion: Portion) -> Iterator[list[Move]]:
        """From each other day: what is missing, or all that the day has."""
        day, material = portion
        missing_g = self.least_g - self.own_g.get(portion, 0) - self._fed_g(portion)
        for other in range(self.booking.problem.days):
            donors = [
                (flow, to)
                for flow in self._fed((other, material))
                for to in self.days_of[id(flow)]
                if other != day and to.feed_day == day
            ]
            for most_g in (missing_g, sum(flow.amount_g for flow, _ in donors)):
                moves, left_g = list[Move](), most_g
                for flow, to in donors:
                    grams = min(flow.amount_g, left_g)
                    moves += [(flow, to, grams)] if grams else []
                    left_g -= grams
                if moves:
                    yield moves

    def _in_exchange(self, portion: Portion) -> Iterator[list[Move]]:
        """One of the above, with as much of another material the other way as makes room."""
        for moves in (*self._elsewhere(portion), *self._filled_up(portion)):
            flow, to, _ = moves[0]
            if to is None or any(m[1] is None or m[1].feed_day != to.feed_day for m in moves):
                continue
            needed = self._needed(moves, to.feed_day)
            for other in self.flows:
                loads = (other.usable, other.vs, other.slurry)
                if other.feed_day != to.feed_day or other.material == to.material:
                    continue
                if not any(needed) or any(n and not w for n, w in zip(needed, loads, strict=True)):
                    continue
                grams = max(-(-n // w) for n, w in zip(needed, loads, strict=True) if n)
                for back in self.days_of[id(other)]:
                    if back.feed_day == flow.feed_day and grams <= other.amount_g:
                        yield [*moves, (other, back, grams)]

    def _needed(self, moves: list[Move], day: int) -> tuple[int, int, int]:
        """What each of a day's maxima lacks for moves to it."""
        booking = self.booking
        feed = sum(grams * to.usable for _, to, grams in moves if to)
        vs = sum(grams * to.vs for _, to, grams in moves if to)
        slurry = sum(grams * to.slurry for _, to, grams in moves if to)
        return (
            max(0, feed - booking.feed_left[self.h][day]),
            max(0, vs - booking.vs_left[self.h][day]),
            max(0, slurry - booking.slurry_left[self.h][day]),
        )

    def _left_over(self, portion: Portion) -> Iterator[list[Move]]:
        """Where pins, smallest parts and pickups allow it and nobody goes hungry for it."""
        mine = self._fed(portion)
        least_g = max(self.digester.min_vs_g, sum(self.digester.target_vs_g))
        surely = sum(
            (0 if flow in mine else flow.amount_g) * flow.vs * flow.sure_ppm for flow in self.flows
        )
        if surely >= least_g * UNIT * PPM and all(map(self._may_leave, mine)):
            yield [(flow, None, flow.amount_g) for flow in mine]

    def _may_leave(self, flow: Flow) -> bool:
        if flow.is_stock:
            return True
        booking, key = self.booking, (flow.lot, self.h, flow.collect_day)
        part_g = booking.part_g(key) - flow.amount_g
        visit_g = booking.visit_g[booking.visit_of(key)] - flow.amount_g
        return (
            key not in booking.pinned
            and booking.problem.batches[flow.lot].divisible
            and (part_g == 0 or part_g >= booking.least_part_g(key))
            and visit_g >= max(1, self.digester.min_pickup_g)
        )

    def _fed(self, portion: Portion) -> list[Flow]:
        return [f for f in self.flows if f.amount_g and (f.feed_day, f.material) == portion]

    def _fed_g(self, portion: Portion) -> int:
        return sum(flow.amount_g for flow in self._fed(portion))
