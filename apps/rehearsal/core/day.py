"""One day as it really goes: walks, weights, bins, feedings, what is written down."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from apps.rehearsal.core.living import TrueDigesters
from apps.rehearsal.core.world import OIL_G, OWN_MATERIAL, Floats, World

SOUR_PH = 6.5
CALLS = 3
"""Others that are asked, one after another, when a home does not come. Assumed."""
DEAD_PH, DEAD_DAYS, RESEED_DAYS = 5.8, 14, 21
"""A digester this sour for so long is emptied and seeded anew, and rests so many days."""


@dataclass
class Lot:
    """Grams of one material in a bin."""

    material: str
    amount_g: int
    feed_by_day: int
    since_day: int


@dataclass(frozen=True, slots=True)
class Walk:
    """One home fetches from one stream: the day the waste arose, the grams planned and the
    most it takes if there is more."""

    stream: int
    ready_day: int
    home: int
    planned_g: int
    most_g: int


@dataclass(frozen=True, slots=True)
class FeedOrder:
    """Up to how much one home feeds that day, own kitchen waste included; a lot that would
    spoil may fill up to `last_vs_g`."""

    feed_g: int
    vs_g: int
    slurry_ml: int
    last_vs_g: int


@dataclass
class HomeDiary:
    """What is known of one home: written feedings (g fresh, g VS, mL by day), strips."""

    written: list[tuple[int, int, int]] = field(default_factory=list)
    strips: list[tuple[int, float]] = field(default_factory=list)


@dataclass
class Year:
    """A policy's year so far. `left_g[stream][ready day]`: still at the source."""

    world: World
    tanks: TrueDigesters
    bins: list[list[Lot]]
    diaries: list[HomeDiary]
    left_g: list[dict[int, int]]
    seen: list[list[tuple[int, int]]]
    dead_days: list[int]
    resting_until: list[int]
    rows: list[DayRow] = field(default_factory=list)

    @classmethod
    def begin(cls, world: World) -> Year:
        """The first morning."""
        homes, streams = len(world.hood.homes), len(world.hood.streams)
        return cls(
            world,
            TrueDigesters(world),
            [[] for _ in range(homes)],
            [HomeDiary() for _ in range(homes)],
            [{} for _ in range(streams)],
            [[] for _ in range(streams)],
            [0] * homes,
            [0] * homes,
        )


@dataclass(frozen=True, slots=True)
class DayRow:
    """What a day came to, by home: fed grams of fetched waste, all fed VS, pH, gas; and the
    day's walks, gram-metres, spoiled and fetched grams."""

    day: int
    fetched_fed_g: tuple[int, ...]
    fed_vs_g: tuple[int, ...]
    fed_g: tuple[int, ...]
    slurry_ml: tuple[int, ...]
    mistaken: tuple[bool, ...]
    ph: tuple[float, ...]
    methane_l: tuple[int, ...]
    walks: int
    fetched_g: int
    carried_g_m: int
    spoiled_g: int


def live_day(
    year: Year,
    day: int,
    walks: Sequence[Walk],
    orders: Sequence[FeedOrder],
    find_other: Callable[[Walk, frozenset[int]], int | None],
) -> DayRow:
    """Lives `day`: `walks` are made or not, bins fed as `orders` say, mistakes happen.
    `find_other`: who is asked next, after those who were."""
    world = year.world
    metres = world.hood.walks()
    spoiled_g = _begin(year, day)
    fetched_g = carried = made = 0
    visits: set[tuple[str, int]] = set()
    for planned in walks:
        walk = planned
        if world.away[day, walk.home] or world.no_show[day, walk.home]:
            if world.too_late[day, walk.home]:
                continue
            other = _ask_others(world, day, walk, find_other)
            if other is None:
                continue
            walk = Walk(walk.stream, walk.ready_day, other, walk.planned_g, walk.planned_g)
        stream = world.hood.streams[walk.stream]
        there = year.left_g[walk.stream].get(walk.ready_day, 0)
        home = world.hood.homes[walk.home]
        room = home.bin_g - sum(lot.amount_g for lot in year.bins[walk.home])
        taken = min(there, walk.most_g, room)
        visits.add((stream.source, walk.home))
        made += 1
        if taken <= 0:
            continue
        year.left_g[walk.stream][walk.ready_day] -= taken
        year.bins[walk.home].append(
            Lot(stream.material, taken, walk.ready_day + stream.feed_within_days, day)
        )
        fetched_g += taken
        carried += taken * metres[stream.source, home.code]
    fed = [_feed(year, day, index, order) for index, order in enumerate(orders)]
    ph, methane = year.tanks.live(day, [portions for portions, _ in fed])
    _end(year, day, ph)
    row = DayRow(
        day=day,
        fetched_fed_g=tuple(fetched for _, fetched in fed),
        fed_vs_g=tuple(
            sum(g * world.vs_ppm(m) for m, g in portions) // 10**6 for portions, _ in fed
        ),
        fed_g=tuple(sum(g for _, g in portions) for portions, _ in fed),
        slurry_ml=tuple(
            sum(g * world.slurry_ppm(m) for m, g in portions) // 10**6 for portions, _ in fed
        ),
        mistaken=tuple(bool(world.doubled[day, h] or world.oil[day, h]) for h in range(len(fed))),
        ph=tuple(float(value) for value in ph),
        methane_l=tuple(round(value * 1000) for value in methane),
        walks=len(visits),
        fetched_g=fetched_g,
        carried_g_m=carried,
        spoiled_g=spoiled_g,
    )
    for index, diary in enumerate(year.diaries):
        diary.written.append((row.fed_g[index], row.fed_vs_g[index], row.slurry_ml[index]))
    year.rows.append(row)
    return row


def _ask_others(
    world: World,
    day: int,
    walk: Walk,
    find_other: Callable[[Walk, frozenset[int]], int | None],
) -> int | None:
    """The first of a few others who says yes."""
    asked: frozenset[int] = frozenset()
    for _ in range(CALLS):
        other = find_other(walk, asked)
        if other is None or world.takes_call[day, other]:
            return other
        asked |= {other}
    return None


def _begin(year: Year, day: int) -> int:
    """New waste arises, old waste goes; grams that spoiled in bins."""
    world, spoiled = year.world, 0
    for index, stream in enumerate(world.hood.streams):
        held = year.left_g[index]
        held[day] = int(world.supply.amounts_g[day, index])
        for ready in [ready for ready in held if ready + stream.kept_days < day]:
            del held[ready]
    for home, lots in enumerate(year.bins):
        spoiled += sum(lot.amount_g for lot in lots if lot.feed_by_day < day)
        year.bins[home] = [lot for lot in lots if lot.feed_by_day >= day]
    return spoiled


def _feed(year: Year, day: int, home: int, order: FeedOrder) -> tuple[list[tuple[str, int]], int]:
    """What went in, and how much of it was fetched. Own kitchen waste goes first; when nobody
    is there, or the tank rests, nothing goes in."""
    world = year.world
    if world.away[day, home] or year.resting_until[home] > day:
        return [], 0
    portions: list[tuple[str, int]] = []
    own_g = int(world.own_g[day, home])
    if order.feed_g > 0 and own_g:
        portions.append((OWN_MATERIAL, own_g))
    times = 2 if world.doubled[day, home] else 1
    fetched = _feed_lots(year, day, home, order, own_g, times, portions)
    if world.oil[day, home]:
        portions.append(("used_cooking_oil", OIL_G))
    return portions, fetched


def _feed_lots(
    year: Year,
    day: int,
    home: int,
    order: FeedOrder,
    own_g: int,
    times: int,
    portions: list[tuple[str, int]],
) -> int:
    world = year.world
    room_g = order.feed_g * times - own_g
    spent_vs = own_g * world.vs_ppm(OWN_MATERIAL)
    room_ml = order.slurry_ml * times * 10**6 - own_g * world.slurry_ppm(OWN_MATERIAL)
    fetched = 0
    for lot in sorted(year.bins[home], key=lambda lot: (lot.feed_by_day, lot.material)):
        most_vs = (order.last_vs_g if lot.feed_by_day <= day else order.vs_g) * times
        room_vs = most_vs * 10**6 - spent_vs
        grams = min(
            lot.amount_g,
            room_g,
            room_vs // world.vs_ppm(lot.material),
            room_ml // world.slurry_ppm(lot.material),
        )
        if grams <= 0:
            continue
        lot.amount_g -= grams
        room_g -= grams
        spent_vs += grams * world.vs_ppm(lot.material)
        room_ml -= grams * world.slurry_ppm(lot.material)
        portions.append((lot.material, grams))
        fetched += grams
    year.bins[home] = [lot for lot in year.bins[home] if lot.amount_g]
    return fetched


def _end(year: Year, day: int, ph: Floats) -> None:
    """Strips are read weekly, daily while the last one was low; what was there is said."""
    world = year.world
    for home, diary in enumerate(year.diaries):
        last = diary.strips[-1][1] if diary.strips else 7.0
        due = day % 7 == home % 7 or last < 6.8
        if due and not world.away[day, home]:
            read = round((float(ph[home]) + float(world.strip_noise[day, home])) * 4) / 4
            diary.strips.append((day, float(np.clip(read, 4.0, 9.0))))
        year.dead_days[home] = year.dead_days[home] + 1 if ph[home] < DEAD_PH else 0
        if year.dead_days[home] >= DEAD_DAYS:
            year.tanks.reseed(home)
            year.dead_days[home] = 0
            year.resting_until[home] = day + 1 + RESEED_DAYS
            diary.strips.append((day, 7.0))
    for stream in range(len(world.hood.streams)):
        if world.says_after[day, stream]:
            year.seen[stream].append((day, int(world.supply.amounts_g[day, stream])))
