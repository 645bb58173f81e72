"""One digester's part of a plan: what arrives, what is fed, and which limits that passes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Set
from dataclasses import dataclass

from apps.planning.core.lookup import LOADS, UNIT, Index, cap_triple, load_triple
from apps.planning.core.problem import PPM, Digester, ShareCap


@dataclass(frozen=True, slots=True)
class Passed:
    """A limit that a plan passes: by `over` of `unit`, `limit` being the limit.
    `what` names the cap ('feed', 'vs', 'slurry'), the share's group, or the other end."""

    rule: str
    digester: str
    day: int
    over: int
    limit: int
    unit: str
    what: str = ""


WHOLE = ""
"""Stands for all groups together."""
NOTHING = (0, 0, 0)


def _own_loads(index: Index, digester: Digester) -> list[dict[str, list[int]]]:
    """Loads of own waste by day and share group."""
    own = [{WHOLE: [0, 0, 0]} for _ in range(index.problem.days)]
    for waste in digester.own_waste:
        material = index.materials[waste.material]
        for group in (WHOLE, *material.share_groups):
            loads = own[waste.day].setdefault(group, [0, 0, 0])
            for at, load in enumerate(load_triple(material, PPM)):
                loads[at] += waste.amount_g * load
    return own


class Home:
    """One digester's part of a plan: what arrives, what is fed, and what that adds up to."""

    __slots__ = (
        "_carried",
        "_fed_of",
        "_index",
        "_levels",
        "_own",
        "digester",
        "fed",
        "feeds",
        "parts",
    )

    def __init__(self, index: Index, digester: Digester) -> None:
        self._index = index
        self.digester = digester
        self.parts: dict[tuple[str, int], int] = {}
        """(batch, collection day) to grams."""
        self.feeds: dict[tuple[str, int], int] = {}
        """(lot, feeding day) to grams as collected."""
        self._levels: list[tuple[int, int]] | None = None
        days = range(index.problem.days)
        self.fed = [[0, 0, 0] for _ in days]
        """Loads fed by day, own waste aside; `_fed_of` the same by day and share group."""
        self._fed_of: list[dict[str, list[int]]] = [{} for _ in days]
        self._carried: list[dict[str, int]] = [{} for _ in days]
        """Grams by day and source, of the sources from which something comes."""
        self._own = _own_loads(index, digester)

    def clone(self) -> Home:
        """A copy that may be changed."""
        other = self.seen_as(self.digester)
        other.parts = dict(self.parts)
        other.feeds = dict(self.feeds)
        other.fed = [list(day) for day in self.fed]
        other._fed_of = [
            {group: list(loads) for group, loads in day.items()} for day in self._fed_of
        ]
        other._carried = [dict(day) for day in self._carried]
        return other

    def seen_as(self, digester: Digester) -> Home:
        """This home, to be looked at only, as if its digester's limits were that one's."""
        other = Home.__new__(Home)
        for name in Home.__slots__:
            setattr(other, name, getattr(self, name))
        other.digester = digester
        return other

    def add_feed(self, lot: str, day: int, amount_g: int) -> None:
        """Feeds more (or, negative, less) of a lot on a day."""
        self._levels = None
        key = (lot, day)
        left = self.feeds.get(key, 0) + amount_g
        if left:
            self.feeds[key] = left
        else:
            self.feeds.pop(key, None)
        by_group = self._fed_of[day]
        sums = [self.fed[day]]
        sums += [by_group.setdefault(group, [0, 0, 0]) for group in self.groups_of(lot)]
        for at, load in enumerate(self.loads_of(lot)):
            for loads in sums:
                loads[at] += amount_g * load

    def add_part(self, batch: str, day: int, amount_g: int) -> None:
        """More (or, negative, less) of a batch arrives on a day."""
        self._levels = None
        key = (batch, day)
        left = self.parts.get(key, 0) + amount_g
        if left:
            self.parts[key] = left
        else:
            self.parts.pop(key, None)
        carried, source = self._carried[day], self._index.batches[batch].source
        carried[source] = carried.get(source, 0) + amount_g
        if not carried[source]:
            del carried[source]

    def loads_of(self, lot: str) -> tuple[int, int, int]:
        return self._index.loads_of(lot, self.digester.code)

    def bin_load_of(self, batch: str) -> int:
        return self._index.bin_load_of(batch, self.digester.code)

    def sure_vs_g(self) -> float:
        """VS that is fed over all days even if batches bring no more than their low figure."""
        sure = sum(
            amount_g * self.loads_of(lot)[1] * self._index.sure_ppm_of(lot)
            for (lot, _), amount_g in self.feeds.items()
        )
        return sure / (UNIT * PPM)

    def cap_left(self, day: int) -> tuple[int, int, int]:
        """UNITs left under the three caps; negative where passed."""
        feed, vs, slurry = self.fed[day]
        caps = cap_triple(self.digester, day)
        return caps[0] * UNIT - feed, caps[1] * UNIT - vs, caps[2] * UNIT - slurry

    def carried_g(self, source: str, day: int) -> int:
        return self._carried[day].get(source, 0)

    def visitors(self, day: int) -> Set[str]:
        """Sources from which something comes on a day."""
        return self._carried[day].keys()

    def bin_levels(self) -> list[tuple[int, int]]:
        """For each day, after arrivals and before feeding: UNITs of stock, and of batches if they
        bring their high figure."""
        if self._levels is None:
            self._levels = self._count_levels()
        return self._levels

    def _count_levels(self) -> list[tuple[int, int]]:
        stock = {lot.code: lot.amount_g for lot in self.digester.stock}
        feed_by = {lot.code: lot.feed_by_day for lot in self.digester.stock}
        collected = 0
        arrivals: dict[int, int] = defaultdict(int)
        for (batch, day), amount in self.parts.items():
            arrivals[day] += amount * self.bin_load_of(batch)
        by_day: dict[int, list[tuple[str, int]]] = defaultdict(list)
        for (lot, day), amount in self.feeds.items():
            by_day[day].append((lot, amount))
        levels = []
        for day in range(len(self.fed)):
            collected += arrivals[day]
            alive = sum(amount for lot, amount in stock.items() if feed_by[lot] >= day)
            levels.append((alive * UNIT, collected))
            for lot, amount in by_day[day]:
                if lot in stock:
                    stock[lot] -= amount
                else:
                    collected -= amount * self.bin_load_of(lot)
        return levels

    def share(self, cap: ShareCap, day: int) -> tuple[int, int, int]:
        """The group's part, the whole, and the group's part by own waste alone, in UNITs."""
        at = 1 if cap.basis == "vs" else 0
        own_group = self._own[day].get(cap.group, NOTHING)[at]
        group = own_group + self._fed_of[day].get(cap.group, NOTHING)[at]
        return group, self._own[day][WHOLE][at] + self.fed[day][at], own_group

    def groups_of(self, lot: str) -> tuple[str, ...]:
        return self._index.material_of(lot).share_groups

    def share_room_g(self, cap: ShareCap, lot: str, day: int) -> int | None:
        """Collected grams of a lot of the capped group that may be added; None: any amount."""
        load = self.loads_of(lot)[1 if cap.basis == "vs" else 0]
        if load == 0 or cap.share_ppm >= PPM:
            return None
        group, total, own_group = self.share(cap, day)
        own_total = self._own[day][WHOLE][1 if cap.basis == "vs" else 0]
        if own_group * PPM > cap.share_ppm * own_total:
            return 0  # own waste alone is past the cap: the plan feeds none of the group
        return max(0, cap.share_ppm * total - group * PPM) // (load * (PPM - cap.share_ppm))

    def passed(self) -> list[Passed]:
        """Limits of this home that its part of the plan passes."""
        code, found = self.digester.code, []
        for day in range(len(self.fed)):
            for name, left, cap in zip(
                LOADS, self.cap_left(day), cap_triple(self.digester, day), strict=True
            ):
                if left < 0:
                    unit = "ml" if name == "slurry" else "g"
                    found.append(Passed("day_maximum", code, day, -(left // UNIT), cap, unit, name))
            for share_cap in self.digester.share_caps:
                group, total, own = self.share(share_cap, day)
                over = group * PPM - share_cap.share_ppm * total
                if group > own and over > 0:
                    found.append(
                        Passed(
                            "share_cap",
                            code,
                            day,
                            -(-over // total),
                            share_cap.share_ppm,
                            "ppm",
                            share_cap.group,
                        )
                    )
            found += self._visits_passed(day)
        for day, (stock, collected) in enumerate(self.bin_levels()):
            over = stock + collected - self.digester.bin_g * UNIT
            if over > 0 and collected > 0:
                found.append(Passed("bin", code, day, -(-over // UNIT), self.digester.bin_g, "g"))
        return found

    def _visits_passed(self, day: int) -> list[Passed]:
        digester, found = self.digester, []
        sources = self.visitors(day)
        started = self._index.started
        loose = {
            source
            for source in sources
            if any(
                amount > started.get((batch, digester.code, day), 0)
                for (batch, when), amount in self.parts.items()
                if when == day and self._index.batches[batch].source == source
            )
        }
        limit = digester.max_visits_per_day
        if len(sources) > limit and loose:
            found.append(
                Passed("visits", digester.code, day, len(sources) - limit, limit, "visits")
            )
        for source in sorted(loose):
            carried = self.carried_g(source, day)
            if carried > digester.carry_limit_g:
                found.append(
                    Passed(
                        "carry_limit",
                        digester.code,
                        day,
                        carried - digester.carry_limit_g,
                        digester.carry_limit_g,
                        "g",
                        source,
                    )
                )
            whole = any(
                not self._index.batches[batch].divisible
                for batch, when in self.parts
                if when == day and self._index.batches[batch].source == source
            )
            begun = any(
                (batch, digester.code, day) in started
                for batch, when in self.parts
                if when == day and self._index.batches[batch].source == source
            )
            if carried < digester.min_pickup_g and not whole and not begun:
                found.append(
                    Passed(
                        "min_pickup",
                        digester.code,
                        day,
                        digester.min_pickup_g - carried,
                        digester.min_pickup_g,
                        "g",
                        source,
                    )
                )
        return found
