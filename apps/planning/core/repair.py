"""A plan fitted to a changed problem by giving way and filling up, without the solver."""

from __future__ import annotations

from collections.abc import Iterable

from apps.planning.core.change import Change
from apps.planning.core.home import Passed
from apps.planning.core.lookup import UNIT, Index
from apps.planning.core.problem import Batch, Pin, Placement
from apps.planning.core.room import candidate, feed_early, room
from apps.planning.core.standing import Standing


class Repair:
    """A plan being fitted to a changed problem."""

    def __init__(self, before: Standing, index: Index) -> None:
        self.index = index
        self.touched: set[str] = set()
        self.loose: set[str] = set()
        """Batches of which something was set free."""
        self._before = before.homes
        placements, feeds = before.placements(), before.feeds()
        self.standing = Standing(index, placements, feeds)

    def force(self, change: Change) -> tuple[Passed, ...]:
        """Makes the change, whatever it passes; tells which limits that would be."""
        self.touched |= {digester.code for digester in change.digesters}
        passed = self._drop_forbidden()
        changed_codes = {batch.code for batch in change.batches}
        for batch in change.batches:
            self._shrink(batch)
        self.touched |= {
            each.digester for each in self.standing.placements() if each.batch in changed_codes
        }
        for pin in change.pins:
            passed += self._keep_pin(pin)
        changed = {digester.code for digester in change.digesters}
        for code in sorted(self.touched):
            known = set() if code in changed else set(map(_place_of, self._before[code].passed()))
            passed += [
                each for each in self.standing.homes[code].passed() if _place_of(each) not in known
            ]
        return tuple(passed)

    def heal(self) -> None:
        """Takes loose placements away until no limit is passed that this could heal."""
        for code in sorted(self.touched):
            self._heal_home(code)
        for code in sorted(self.touched):
            if self._drop_crumbs(code):
                self._heal_home(code)

    def still_passed(self) -> tuple[Passed, ...]:
        return tuple(
            each for code in sorted(self.touched) for each in self.standing.homes[code].passed()
        )

    def place(self) -> None:
        """Gives what was set free, and what is left near the touched homes, to homes with
        room, the emptiest first."""
        index = self.index
        near = {pair.source for code in self.touched for pair in index.sources_near.get(code, ())}
        batches = [
            batch
            for code, batch in sorted(index.batches.items())
            if self.standing.left_g[code] > 0 and (code in self.loose or batch.source in near)
        ]
        batches.sort(key=lambda batch: (batch.code not in self.loose, batch.code))
        for batch in batches:
            only = None if batch.code in self.loose else self.touched
            self._place_batch(batch, only)

    def _drop_forbidden(self) -> list[Passed]:
        """Placements of pairs that are no longer allowed."""
        dropped: list[Passed] = []
        for each in self.standing.placements():
            source = self.index.batches[each.batch].source
            accepts = self.index.digesters[each.digester].accepts
            banned = self.index.is_banned(source, each.digester, each.day)
            refused = self.index.batches[each.batch].material not in accepts
            if not (banned or refused) or self._is_started(each):
                continue
            if (each.batch, each.digester, each.day) in self.index.pinned:
                rule = "banned" if banned else "material_refused"
                dropped.append(Passed(rule, each.digester, each.day, 1, 0, "pins", each.batch))
            self._take(each, each.amount_g)
        return dropped

    def _is_started(self, each: Placement) -> bool:
        return (each.batch, each.digester, each.day) in self.index.started

    def _shrink(self, batch: Batch) -> None:
        """A batch that has less than was placed gives back its latest placements first."""
        self.loose.add(batch.code)
        mine = [each for each in self.standing.placements() if each.batch == batch.code]
        for each in sorted(mine, key=lambda p: (p.day, p.digester), reverse=True):
            over_g = -self.standing.left_g[batch.code]
            window = self.index.collection_days(batch)
            late = each.day not in window or any(
                lot == batch.code and day > batch.feed_by_day
                for lot, day in self.standing.homes[each.digester].feeds
            )
            if late or (over_g > 0 and not batch.divisible):
                self._take(each, each.amount_g)
            elif over_g > 0:
                self._take(each, min(over_g, each.amount_g))

    def _keep_pin(self, pin: Pin) -> list[Passed]:
        """Places what a pin asks for, from what is left first, then from other placements."""
        standing, index = self.standing, self.index
        batch = index.batches[pin.batch]
        home = standing.homes[pin.digester]
        self.touched.add(pin.digester)
        self.loose.add(pin.batch)
        has_g = home.parts.get((pin.batch, pin.day), 0)
        wanted_g = pin.amount_g
        if wanted_g is None:
            least_g = batch.amount_g if not batch.divisible else home.digester.min_pickup_g
            wanted_g = max(has_g, min(least_g, batch.amount_g))
        if has_g > wanted_g:
            self._take(Placement(pin.batch, pin.digester, pin.day, has_g), has_g - wanted_g)
            return []
        missing_g = wanted_g - has_g
        for each in standing.placements():
            if standing.left_g[pin.batch] >= missing_g:
                break
            elsewhere = each.batch == pin.batch and (each.digester, each.day) != (
                pin.digester,
                pin.day,
            )
            if elsewhere and not index.is_fixed(each.batch, each.digester, each.day):
                self._take(each, each.amount_g)
        passed = []
        if standing.left_g[pin.batch] < missing_g:
            over_g = missing_g - standing.left_g[pin.batch]
            passed.append(
                Passed("batch_amount", pin.digester, pin.day, over_g, batch.amount_g, "g")
            )
            missing_g = standing.left_g[pin.batch]
        passed += self._pair_faults(pin, batch)
        if missing_g > 0:
            self._put_somehow(batch, pin.digester, pin.day, missing_g)
        return passed

    def _pair_faults(self, pin: Pin, batch: Batch) -> list[Passed]:
        """Rules of reach, hours, materials, bans and homes that a pin goes against."""
        it = candidate(self.standing, batch, pin.digester, pin.day, 0)
        broken = {
            "too_far": it.pair is None,
            "hours_never_meet": it.pair is not None and not it.meets,
            "material_refused": not it.accepted,
            "banned": it.banned,
            "too_late": not it.feeding_days,
            "collect_window": pin.day not in self.index.collection_days(batch),
        }
        found = [
            Passed(rule, pin.digester, pin.day, 1, 0, "pins", pin.batch)
            for rule, is_broken in broken.items()
            if is_broken
        ]
        others = self.standing.homes_of.get((batch.source, pin.day), frozenset()) - {pin.digester}
        if len(others) >= it.max_homes:
            found.append(
                Passed(
                    "source_homes",
                    pin.digester,
                    pin.day,
                    len(others) + 1 - it.max_homes,
                    it.max_homes,
                    "homes",
                    batch.source,
                )
            )
            self._free_source(batch.source, pin.day, others, len(others) + 1 - it.max_homes)
        return found

    def _free_source(self, source: str, day: int, others: Iterable[str], count: int) -> None:
        """Gives up the smallest other pickups of a source on a day."""
        sizes = sorted((self.standing.homes[code].carried_g(source, day), code) for code in others)
        for _, code in sizes:
            mine = [
                each
                for each in self._parts(code)
                if each.day == day and self.index.batches[each.batch].source == source
            ]
            fixed = any(self.index.is_fixed(e.batch, e.digester, e.day) for e in mine)
            if count > 0 and not fixed:
                for each in mine:
                    self._take(each, each.amount_g)
                count -= 1

    def _put_somehow(self, batch: Batch, digester: str, day: int, amount_g: int) -> None:
        """As early as there is room, and what has none on the last day it may be fed."""
        it = candidate(self.standing, batch, digester, day, amount_g)
        feeds = dict(feed_early(it, amount_g))
        rest_g = amount_g - sum(feeds.values())
        if rest_g:
            last = it.feeding_days[-1] if it.feeding_days else day
            feeds[last] = feeds.get(last, 0) + rest_g
        self.standing.put(batch.code, digester, day, tuple(sorted(feeds.items())))

    def _parts(self, code: str) -> list[Placement]:
        parts = self.standing.homes[code].parts.items()
        return [Placement(batch, code, day, amount) for (batch, day), amount in sorted(parts)]

    def _take(self, each: Placement, amount_g: int) -> None:
        self.standing.take(each.batch, each.digester, each.day, amount_g)
        self.touched.add(each.digester)
        self.loose.add(each.batch)

    def _heal_home(self, code: str) -> None:
        """Gives up placements of the rule and day that is passed, the smallest that is enough
        or else the largest, until nothing is passed that giving way could heal."""
        home = self.standing.homes[code]
        hopeless: set[tuple[str, int, str]] = set()
        while True:
            passed = [each for each in home.passed() if _place_of(each) not in hopeless]
            if not passed:
                return
            first = passed[0]
            guilty = [each for each in self._loose_parts(code) if self._is_guilty(each, first)]
            if guilty:
                over_g = first.over if first.unit == "g" and first.what != "vs" else 0
                enough = [each for each in guilty if each.amount_g >= over_g]
                each = min(enough, key=_by_size) if enough else max(guilty, key=_by_size)
                self._take(each, each.amount_g)
            elif not (self._unfeed_stock(code, first) or self._make_way(code, first)):
                hopeless.add(_place_of(first))

    def _drop_crumbs(self, code: str) -> bool:
        """Parts of batches that became too small to be worth a line are filled up from what is
        left over, or given up; whether one was given up."""
        dropped = False
        for each in self._loose_parts(code):
            it = candidate(self.standing, self.index.batches[each.batch], code, each.day)
            if it.least_part_g <= 0:
                continue
            if room(it).is_open:
                self.standing.put(each.batch, code, each.day, feed_early(it, it.least_part_g))
            else:
                self._take(each, each.amount_g)
                dropped = True
        return dropped

    def _loose_parts(self, code: str) -> list[Placement]:
        return [
            each
            for each in self._parts(code)
            if not self.index.is_fixed(each.batch, code, each.day)
        ]

    def _make_way(self, code: str, passed: Passed) -> bool:
        """Feeds the fixed parts behind a passed limit at other times; where that is not
        enough, gives up a loose part that is fed within their time, to try again."""
        if passed.rule not in {"day_maximum", "share_cap", "bin"}:
            return False
        home = self.standing.homes[code]
        days: set[int] = set()
        for each in self._parts(code):
            fixed = self.index.is_fixed(each.batch, code, each.day)
            if fixed and self._is_guilty(each, passed):
                days |= set(self.index.feeding_days(self.index.batches[each.batch], each.day))
                self._retime(each)
        now = {_place_of(each): each.over for each in home.passed()}
        if now.get(_place_of(passed), 0) < passed.over:
            return True
        for each in sorted(self._loose_parts(code), key=_by_size):
            if any((each.batch, day) in home.feeds for day in days):
                self._take(each, each.amount_g)
                return True
        return False

    def _retime(self, each: Placement) -> None:
        self.standing.take(each.batch, each.digester, each.day, each.amount_g)
        batch = self.index.batches[each.batch]
        self._put_somehow(batch, each.digester, each.day, each.amount_g)

    def _unfeed_stock(self, code: str, passed: Passed) -> bool:
        """Stock that had been planned for a day that can no longer take it stays in the bin."""
        home = self.standing.homes[code]
        for (lot, day), amount_g in sorted(home.feeds.items()):
            if lot in self.index.stock and day == passed.day and passed.rule != "bin":
                home.add_feed(lot, day, -amount_g)
                return True
        return False

    def _is_guilty(self, each: Placement, passed: Passed) -> bool:
        home = self.standing.homes[each.digester]
        batch = self.index.batches[each.batch]
        match passed.rule:
            case "day_maximum":
                return (each.batch, passed.day) in home.feeds
            case "share_cap":
                fed = (each.batch, passed.day) in home.feeds
                return fed and passed.what in home.groups_of(each.batch)
            case "bin":
                return each.day <= passed.day and any(
                    lot == each.batch and day >= passed.day for lot, day in home.feeds
                )
            case "carry_limit" | "min_pickup":
                return each.day == passed.day and batch.source == passed.what
            case _:
                return each.day == passed.day

    def _place_batch(self, batch: Batch, only: set[str] | None) -> None:
        """All that is left of a batch, to the emptiest homes (fed VS against target)."""
        index, standing = self.index, self.standing

        def fullness(digester: str) -> float:
            home = standing.homes[digester]
            target = sum(home.digester.target_vs_g) * UNIT
            return sum(day[1] for day in home.fed) / target if target else 1.0

        pairs = [
            pair
            for pair in index.homes_near.get(batch.source, ())
            if only is None or pair.digester in only
        ]
        for pair in sorted(pairs, key=lambda p: (fullness(p.digester), p.distance_m, p.digester)):
            for day in index.collection_days(batch):
                if standing.left_g[batch.code] <= 0:
                    return
                it = candidate(standing, batch, pair.digester, day)
                found = room(it)
                if found.is_open:
                    standing.put(batch.code, pair.digester, day, feed_early(it, found.fit_g))


def _place_of(passed: Passed) -> tuple[str, int, str]:
    return passed.rule, passed.day, passed.what


def _by_size(placement: Placement) -> tuple[int, str, int]:
    return placement.amount_g, placement.batch, placement.day
