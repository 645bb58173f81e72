"""What the service does: forecast, plan by the solver each evening, re-offer what is declined."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from math import ceil

from apps.digesters.core.absence_limits import level_vs_g
from apps.digesters.core.day_limits import DayLimits
from apps.digesters.core.loading import FedDay, stable_median_vs_g
from apps.digesters.core.slurry_temperature import (
    AirDay,
    SlurryReading,
    air_days,
    coldest_expected_c,
)
from apps.digesters.core.stages import Stage
from apps.planning.core import problem as core
from apps.planning.core.most_to_take import most_to_take
from apps.planning.core.solve import Limits, solve
from apps.rehearsal.core.day import FeedOrder, Walk, Year
from apps.rehearsal.core.limits import LONG_FED, Standing, limits_of, rules
from apps.rehearsal.core.world import OWN_MATERIAL, SLURRY_LAG_DAYS
from apps.supply.core.day_effects import unusual_days
from apps.supply.core.forecast import DeclaredPattern, Forecast, Past, Weight, learn, reckoned_g

HORIZON = 4
"""Days planned each rehearsed evening; the service plans seven."""
WORK = 0
"""Simplex iterations of an evening's search after its first plan; the service spends far more.
2,000 placed and carried no better in rehearsed months, at three times the processor time."""
FAIR_DAYS = 28
RECOVERY_DAYS = 28
AIR_READ_DAYS = 60
"""Days of air readings that are looked at; the slurry has forgotten older ones."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard an evening is thought about."""

    horizon: int = HORIZON
    work: int = WORK


class Ours:
    """The service with its own rules, forecast and solver.

    Each evening: streams are forecast from what their sources said; every digester's limits
    follow from its written feedings, strips and the expected cold; the solver plans a few days;
    only tomorrow is carried out. A home feeds what its bin holds as soon as a plan may. When one
    cannot come the nearest other ones whose limits and bins have room that day are asked. The
    ensemble filter of the living digester is not used here, nor the smaller feeds of the days
    before an absence: what they would lower is not counted.
    """

    def __init__(self, year: Year, effort: Effort | None = None) -> None:
        self.year = year
        self.world = year.world
        self.hood = year.world.hood
        self.effort = effort or Effort()
        self.metres = self.hood.walks()
        self.last_visit: dict[str, int] = {}
        self.visits: dict[tuple[str, str], list[int]] = defaultdict(list)
        self.limits: list[list[DayLimits]] = []
        self.stream_at = {stream.code: i for i, stream in enumerate(self.hood.streams)}
        self.home_at = {home.code: i for i, home in enumerate(self.hood.homes)}

    def plan(self, day: int) -> tuple[list[Walk], list[FeedOrder]]:
        """Tomorrow's walks and feeds, planned with what is known the evening before."""
        days = min(self.effort.horizon, self.world.days - day)
        standings = [self._standing(day, home) for home in range(len(self.hood.homes))]
        air = self._air(day)
        self.limits = [
            [
                limits_of(self.world, row, day + ahead, self._coldest_c(day, home, ahead, air),
                          standings[home])
                for ahead in range(days)
            ]
            for home, row in enumerate(self.hood.homes)
        ]  # fmt: skip
        problem = self._problem(day, days)
        result = solve(problem, limits=Limits(work=self.effort.work, bounds=False))
        walks = []
        most = most_to_take(problem, result.placements)
        for placement, most_g in zip(result.placements, most, strict=True):
            if placement.day != 0:
                continue
            stream, ready = placement.batch.rsplit("@", 1)
            home = self.home_at[placement.digester]
            grams = placement.amount_g
            walks.append(Walk(self.stream_at[stream], int(ready), home, grams, most_g))
            source = self.hood.streams[self.stream_at[stream]].source
            self.last_visit[source] = day
            self.visits[source, placement.digester].append(day)
        self.orders = [self._order(home) for home in range(len(standings))]
        return walks, self.orders

    def find_other(self, walk: Walk, asked: frozenset[int]) -> int | None:
        """The nearest home but those `asked` with room under its limits and in its bin."""
        source = self.hood.streams[walk.stream].source
        material = self.hood.streams[walk.stream].material
        found = []
        for index, home in enumerate(self.hood.homes):
            if index == walk.home or index in asked or (source, home.code) not in self.metres:
                continue
            held = self.year.bins[index]
            held_vs = sum(lot.amount_g * self.world.vs_ppm(lot.material) for lot in held)
            limits = self.limits[index]
            room_vs = sum(each.target_vs_g for each in limits[:2]) * 10**6 - held_vs
            room_g = home.bin_g - sum(lot.amount_g for lot in held)
            if (
                walk.planned_g <= room_g
                and walk.planned_g * self.world.vs_ppm(material) <= room_vs
                and not self._is_known_away(walk.ready_day, index, 0)
            ):
                found.append((self.metres[source, home.code], index))
        return min(found)[1] if found else None

    def forget_today(self) -> None:
        """What only the day itself needs."""
        self.limits, self.orders = [], []

    def above_stored(self, day: int) -> int:
        """Homes whose feed, ordered or fed without a mistake of theirs, passed that day's
        maximum; own kitchen waste alone is a fact, not an order."""
        row = self.year.rows[-1]
        return sum(
            order.feed_g > limits[0].max_feed_g
            or max(order.vs_g, order.last_vs_g) > limits[0].max_vs_g
            or order.slurry_ml > limits[0].max_slurry_ml
            or (not mistaken and fetched > 0 and fed_vs > limits[0].max_vs_g)
            for order, limits, mistaken, fetched, fed_vs in zip(
                self.orders, self.limits, row.mistaken, row.fetched_fed_g, row.fed_vs_g, strict=True
            )
        )

    def _order(self, home: int) -> FeedOrder:
        """All that a plan may fill of the day: the plan decides what is fetched, and what lies
        in the bin is fed as soon as the limits let it, so that less of it spoils."""
        limits = self.limits[home][0]
        most_vs = limits.planned_cap("vs_g")
        return FeedOrder(
            limits.planned_cap("feed_g"), most_vs, limits.planned_cap("slurry_ml"), most_vs
        )

    def _standing(self, day: int, home: int) -> Standing:
        diary = self.year.diaries[home]
        strips = diary.strips
        strip = strips[-1][1] if strips else None
        since = next((d for d, ph in reversed(strips) if ph < 6.5), None)
        fed = [
            FedDay(self.world.on(at), *diary.written[at])
            for at in range(max(0, day - 60), len(diary.written))
        ]
        on = self.world.on(day)
        median = stable_median_vs_g(fed, on)
        if since is not None and strip is not None and strip >= 6.5:
            days_good = day - since
            if days_good <= RECOVERY_DAYS:
                return Standing(
                    Stage.RECOVERING, days_good, None, median, "souring", ph_strip=strip
                )
        level = level_vs_g(
            fed, on, self._last_away(day, home),
            rules().value("pause_loss_per_week"), rules().value("pause_least"),
        )  # fmt: skip
        return Standing(stable_mean_vs_g=LONG_FED if day < 14 else level, ph_strip=strip)

    def _last_away(self, day: int, home: int) -> tuple[date, date] | None:
        """First and last day of the home's last absence that is over."""
        days = [at for at in range(max(0, day - 60), day) if self.world.away[at, home]]
        if not days or (
            days[-1] == day - 1 and day < self.world.days and self.world.away[day, home]
        ):
            return None
        first = days[-1]
        while first - 1 in days:
            first -= 1
        return self.world.on(first), self.world.on(days[-1])

    def _air(self, day: int) -> tuple[AirDay, ...]:
        """What one home's thermometer, its lowest and highest read daily, says to all."""
        read = [
            (self.world.on(at), float(self.world.air_c[at]))
            for at in range(max(0, day - AIR_READ_DAYS), day)
        ]
        return air_days(self.hood.air_normals_c, [*read, *read])

    def _coldest_c(self, day: int, home: int, ahead: int, air: tuple[AirDay, ...]) -> float:
        """From the normals, the air that is read, and a thermometer in the slurry read weekly."""
        read_day = max(0, day - 1 - (day - 1) % 7)
        reading = SlurryReading(self.world.on(read_day), float(self.world.slurry_c[read_day, home]))
        return _coldest(self.hood.air_normals_c, self.world.on(day + ahead), reading, air)

    def _is_known_away(self, day: int, home: int, ahead: int) -> bool:
        if day >= self.world.days or not self.world.away[day, home]:
            return False
        begun = day > 0 and self.world.away[day - 1, home] and ahead == 0
        return bool(begun or self.world.known_days_before[day, home] > ahead)

    def _forecasts(self, day: int, days: int) -> list[list[Forecast]]:
        """By stream, `kept_days` days back and `days` ahead."""
        rows = []
        today = self.world.on(day)
        dates = [self.world.on(at) for at in range(max(0, day - 190), day + days)]
        percents = {
            kind: unusual_days(self.hood.effects, kind, dates)
            for kind in {stream.kind for stream in self.hood.streams}
        }
        for index, stream in enumerate(self.hood.streams):
            span = range(max(0, day - stream.kept_days), day + days)
            past = Past(
                DeclaredPattern(stream.by_weekday_g, stream.spread_share),  # type: ignore[arg-type]
                [Weight(self.world.on(at), g) for at, g in self.year.seen[index]],
                percents=percents[stream.kind],
            )
            learnt = learn(past, today)
            offers = {
                at: int(self.world.supply.amounts_g[at, index])
                for at in span
                if at <= day and self.world.says_ahead[at, index]
            }
            offers |= {at: g for at, g in self.year.seen[index][-4:] if at in span}
            rows.append([learnt.forecast(self.world.on(at), offers.get(at)) for at in span])
        return rows

    def _problem(self, day: int, days: int) -> core.Problem:
        world, hood = self.world, self.hood
        batches = []
        for index, (stream, forecasts) in enumerate(
            zip(hood.streams, self._forecasts(day, days), strict=True)
        ):
            for forecast in forecasts:
                at = (forecast.on - world.first_on).days
                taken_g = 0
                if at < day:
                    held_g = self.year.left_g[index].get(at)
                    whole_g = int(world.supply.amounts_g[at, index])
                    taken_g = 0 if held_g is None else whole_g - held_g
                low_g = max(0, forecast.p20_g - taken_g)
                grams = reckoned_g(low_g, forecast.p50_g - taken_g)
                last = min(at + stream.kept_days, at + stream.feed_within_days) - day
                if grams <= 0 or last < 0:
                    continue
                batches.append(
                    core.Batch(
                        f"{stream.code}@{at}", stream.source, stream.material, grams,
                        at - day, last, at + stream.feed_within_days - day, stream.is_divisible,
                        low_g,
                        max(grams, forecast.p80_g - taken_g),
                    )
                )  # fmt: skip
        used = {stream.material for stream in hood.streams} | {OWN_MATERIAL}
        return core.Problem(
            starts_on=world.on(day),
            days=days,
            materials=tuple(
                core.Material(
                    code, world.vs_ppm(code), world.slurry_ppm(code),
                    tuple(world.materials[code].groups),
                )
                for code in sorted(used)
            ),
            digesters=tuple(
                self._digester(day, days, home) for home in range(len(hood.homes))
            ),
            sources=tuple(
                core.Source(
                    source.code, source.max_homes_per_day,
                    day - self.last_visit.get(source.code, day),
                )
                for source in hood.sources
            ),
            batches=tuple(batches),
            pairs=tuple(
                core.Pair(
                    source, home, metres,
                    tuple(
                        not self._is_known_away(day + ahead, self.home_at[home], ahead)
                        for ahead in range(days)
                    ),
                    steady=sum(at >= day - 14 for at in self.visits[source, home]) >= 3,
                )
                for (source, home), metres in sorted(self.metres.items())
            ),
            rules=core.Rules(rota_limit_days=hood.rota_limit_days),
        )  # fmt: skip

    def _digester(self, day: int, days: int, home: int) -> core.Digester:
        row, limits = self.hood.homes[home], self.limits[home]
        vs_ppm, slurry_ppm = self.world.vs_ppm(OWN_MATERIAL), self.world.slurry_ppm(OWN_MATERIAL)
        resting = self.year.resting_until[home]
        caps, targets, own = [], [], []
        for ahead, each in enumerate(limits):
            shut = self._is_known_away(day + ahead, home, ahead) or day + ahead < resting
            own_g = 0 if shut else row.own_waste_g
            own.append(core.OwnWaste(ahead, OWN_MATERIAL, own_g))
            own_vs = ceil(own_g * vs_ppm / core.PPM)
            if shut:
                caps.append(core.DayCaps(0, 0, 0))
                targets.append(0)
                continue
            caps.append(
                core.DayCaps(
                    max(0, each.planned_cap("feed_g") - own_g),
                    max(0, each.planned_cap("vs_g") - own_vs),
                    max(0, each.planned_cap("slurry_ml") - ceil(own_g * slurry_ppm / core.PPM)),
                )
            )
            targets.append(max(0, each.target_vs_g - own_vs))
        before = self.year.diaries[home].written
        week_vs = sum(vs for _, vs, _ in before[-(7 - days) :]) if days < 7 else 0
        wanted = sum(
            each.min_vs_g for each, cap in zip(limits, caps, strict=True) if cap.vs_g
        ) * 7 // max(1, days)  # fmt: skip
        own_vs = sum(each.amount_g for each in own) * vs_ppm // core.PPM
        recent = before[-FAIR_DAYS:]
        target = max(1, max(each.target_vs_g for each in limits) * max(1, len(recent)))
        return core.Digester(
            code=row.code,
            caps=tuple(caps),
            target_vs_g=tuple(targets),
            min_vs_g=max(0, min(wanted - week_vs - own_vs, sum(targets))),
            bin_g=row.bin_g,
            accepts=frozenset(stream.material for stream in self.hood.streams),
            max_visits_per_day=row.max_visits_per_day,
            carry_limit_g=row.carry_limit_g,
            min_pickup_g=row.min_pickup_g,
            share_caps=tuple(
                core.ShareCap(cap.group, cap.share_ppm, cap.basis) for cap in limits[0].share_caps
            ),
            own_waste=tuple(each for each in own if each.amount_g),
            stock=tuple(
                core.StockLot(
                    f"{row.code}:{index}:{lot.since_day}", lot.material, lot.amount_g,
                    lot.feed_by_day - day,
                )
                for index, lot in enumerate(self.year.bins[home])
                if lot.feed_by_day >= day
            ),
            recent_fill_ppm=min(
                2 * core.PPM, sum(vs for _, vs, _ in recent) * core.PPM // target
            ) if recent else core.PPM,
        )  # fmt: skip


@lru_cache(maxsize=256)
def _coldest(
    normals_c: tuple[float, ...], on: date, reading: SlurryReading, air: tuple[AirDay, ...]
) -> float:
    # Homes whose slurry reads the same are told the same.
    return coldest_expected_c(normals_c, on, SLURRY_LAG_DAYS, reading, air=air)
