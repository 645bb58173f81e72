"""What a careful group does by hand, against which the service is measured."""

from __future__ import annotations

from collections import defaultdict

from apps.rehearsal.core.day import FeedOrder, Walk, Year
from apps.rehearsal.core.neighbourhood import GivenHome
from apps.rehearsal.core.world import OWN_MATERIAL
from apps.supply.core.day_effects import percent_on

COOL_C, COLD_C = 20.0, 16.0
HALF, QUARTER = 2, 4


class ByHand:
    """A coordinator with a notebook and a telephone.

    -   On the first of each month she pairs sources with homes: all walks within reach, the
        shortest first; a home is given a source while its week of pairs, at what the source
        had on average over the last eight weeks (what it declared, until then), holds less
        than the home's share of the plate for the week; a source goes to at most as many homes
        as it lets come, each taking what is left over by those before.
    -   On each day a home fetches from its pairs that usually have something that weekday, the
        nearest first, up to its most walks, its hands' limit and what it can feed before it
        spoils. It knows the calendar, and stays at home when a source said it has nothing.
    -   It feeds own kitchen waste first, then what spoils first, never above the plate: half of
        it in months of a mean under 20 °C, a quarter under 16 °C (common practice, no source).
        It stops when a pH strip reads under 6.5, begins again with half when one reads 6.8,
        and is back after two weeks.
    -   When a home says it is away, or does not come, she telephones the nearest other homes
        within reach with room in their bins, one after another, three at most; who is away for
        known days is left out beforehand.
    """

    def __init__(self, year: Year) -> None:
        self.year = year
        self.world = year.world
        self.hood = year.world.hood
        self.metres = self.hood.walks()
        self.pairs: list[list[int]] = [[] for _ in self.hood.homes]
        self.share: dict[tuple[int, int], float] = {}
        self.month = 0

    def plan(self, day: int) -> tuple[list[Walk], list[FeedOrder]]:
        """The walks and the feed of one day."""
        on = self.world.on(day)
        if on.month != self.month:
            self.month = on.month
            self._pair(day)
        orders = [self._order(day, index) for index in range(len(self.hood.homes))]
        walks = [
            walk
            for index in range(len(self.hood.homes))
            for walk in self._walks(day, index, orders[index])
        ]
        self._orders = orders
        return walks, orders

    def find_other(self, walk: Walk, asked: frozenset[int]) -> int | None:
        """The nearest home within reach but those `asked`, with room in its bin and its feed."""
        source = self.hood.streams[walk.stream].source
        near = sorted(
            (self.metres[source, home.code], index)
            for index, home in enumerate(self.hood.homes)
            if (source, home.code) in self.metres and index != walk.home and index not in asked
        )
        for _, index in near:
            held = sum(lot.amount_g for lot in self.year.bins[index])
            fits = held + walk.planned_g <= min(
                self.hood.homes[index].bin_g, 2 * self._orders[index].feed_g
            )
            if fits and not self._is_known_away(walk.ready_day, index):
                return index
        return None

    def forget_today(self) -> None:
        """What only the day itself needs."""
        self._orders = []

    def above_stored(self, day: int) -> int:
        """A notebook stores no maximum."""
        return 0

    def _pair(self, day: int) -> None:
        week_g = [self._week_g(index, day) for index in range(len(self.hood.streams))]
        left_g = list(week_g)
        of_source: dict[str, list[int]] = defaultdict(list)
        for index, stream in enumerate(self.hood.streams):
            of_source[stream.source].append(index)
        homes_at: dict[str, int] = defaultdict(int)
        most = {source.code: source.max_homes_per_day for source in self.hood.sources}
        place = {home.code: index for index, home in enumerate(self.hood.homes)}
        wanted_g = [
            7 * max(0, self._plate_g(home, day) - home.own_waste_g) for home in self.hood.homes
        ]
        self.pairs = [[] for _ in self.hood.homes]
        self.share = {}
        for (source, code), _ in sorted(self.metres.items(), key=lambda item: (item[1], item[0])):
            home = place[code]
            if wanted_g[home] <= 0 or homes_at[source] >= most[source]:
                continue
            took = False
            for number in of_source[source]:
                grams = min(left_g[number], wanted_g[home])
                if grams > 0 and week_g[number] > 0:
                    self.pairs[home].append(number)
                    self.share[home, number] = grams / week_g[number]
                    left_g[number] -= grams
                    wanted_g[home] -= grams
                    took = True
            homes_at[source] += took

    def _week_g(self, stream: int, day: int) -> int:
        recent = [g for seen, g in self.year.seen[stream] if seen >= day - 56]
        if len(recent) < 14:
            return sum(self.hood.streams[stream].by_weekday_g)
        return round(7 * sum(recent) / len(recent))

    def _plate_g(self, home: GivenHome, day: int) -> int:
        mean_c = self.hood.air_normals_c[self.world.on(day).month - 1]
        part = QUARTER if mean_c < COLD_C else HALF if mean_c < COOL_C else 1
        return home.plate_feed_g // part

    def _order(self, day: int, home: int) -> FeedOrder:
        row = self.hood.homes[home]
        plate_g = self._plate_g(row, day)
        strips = self.year.diaries[home].strips
        low_days = [seen for seen, ph in strips if ph < 6.5]
        if strips and low_days:
            good = [seen for seen, ph in strips if ph >= 6.8 and seen > low_days[-1]]
            if not good:
                plate_g = 0
            elif day - good[0] <= 14:
                plate_g //= 2
        own_vs = self.world.vs_ppm(OWN_MATERIAL) * plate_g
        return FeedOrder(plate_g, own_vs, row.plate_slurry_ml if plate_g else 0, own_vs)

    def _walks(self, day: int, home: int, order: FeedOrder) -> list[Walk]:
        if self._is_known_away(day, home) or order.feed_g == 0:
            return []
        row = self.hood.homes[home]
        held_g = sum(lot.amount_g for lot in self.year.bins[home])
        walks: list[Walk] = []
        sources: set[str] = set()
        for stream in self.pairs[home]:
            given = self.hood.streams[stream]
            ready = self._ready(stream, day)
            if ready is None or (
                given.source not in sources and len(sources) >= row.max_visits_per_day
            ):
                continue
            keeps = max(1, given.feed_within_days - (day - ready) + 1)
            most_g = min(
                row.carry_limit_g,
                row.bin_g - held_g,
                max(0, keeps * (order.feed_g - row.own_waste_g) - held_g),
                round(max(self.share[home, stream], 0.3) * 2 * max(given.by_weekday_g)),
            )
            if most_g >= row.min_pickup_g:
                walks.append(Walk(stream, ready, home, most_g, most_g))
                sources.add(given.source)
                usual_g = round(given.by_weekday_g[self.world.on(ready).weekday()])
                held_g += min(most_g, usual_g)
        return walks

    def _ready(self, stream: int, day: int) -> int | None:
        """The newest day whose waste the source still has, by weekday and calendar."""
        given = self.hood.streams[stream]
        for ready in range(day, max(-1, day - given.kept_days - 1), -1):
            on = self.world.on(ready)
            if not given.by_weekday_g[on.weekday()]:
                continue
            if percent_on(self.hood.effects, given.kind, on) == 0:
                continue
            silent = (
                self.world.says_ahead[ready, stream]
                and self.world.supply.amounts_g[ready, stream] == 0
            )
            if not silent:
                return ready
        return None

    def _is_known_away(self, day: int, home: int) -> bool:
        return bool(self.world.away[day, home] and self.world.known_days_before[day, home] >= 1)
