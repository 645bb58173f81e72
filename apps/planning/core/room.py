"""How much of a batch a digester could take on a day beside the plan, and what limits it.

A direct test of slack: all that the plan holds stays as it is. What comes is fed as early as
the caps let it, which never needs more bin than any other way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from apps.planning.core.home import Home
from apps.planning.core.lookup import LOADS, UNIT, cap_triple
from apps.planning.core.problem import Batch, Pair
from apps.planning.core.standing import Standing


@dataclass(frozen=True, slots=True)
class Limit:
    """One rule's word: it alone would let `room_g` of the batch in. `used` of `limit` in
    `unit` were taken before; `what` names the cap or share group."""

    code: str
    room_g: int
    used: int = 0
    limit: int = 0
    unit: str = ""
    what: str = ""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A batch that might go to a digester on a day, with all that the test looks at; a rule
    is bent by replacing one field."""

    batch: Batch
    pair: Pair | None
    home: Home
    day: int
    meets: bool
    banned: bool
    exact: bool
    """A pin or a begun pickup says how much of the batch comes to this home on this day."""
    accepted: bool
    other_homes: int
    max_homes: int
    left_g: int
    feeding_days: range
    least_part_g: int
    """The least that may come of the batch here on this day, less what comes already."""
    changes_left: int | None
    """Visits that may still change in a re-plan; None without a budget."""


def candidate(
    standing: Standing, batch: Batch, digester: str, day: int, left_g: int | None = None
) -> Candidate:
    """`left_g` None means what the plan leaves over of the batch."""
    index = standing.index
    pair = index.pairs.get((batch.source, digester))
    visited = standing.homes_of.get((batch.source, day), frozenset())
    return Candidate(
        batch=batch,
        pair=pair,
        home=standing.homes[digester],
        day=day,
        meets=pair is not None and pair.meets_on_day[day],
        banned=index.is_banned(batch.source, digester, day),
        exact=(batch.code, digester, day) in index.exact,
        accepted=batch.material in index.digesters[digester].accepts,
        other_homes=len(visited - {digester}),
        max_homes=index.sources[batch.source].max_homes_per_day,
        left_g=standing.left_g[batch.code] if left_g is None else left_g,
        feeding_days=index.feeding_days(batch, day),
        least_part_g=_least_part_g(standing, batch, digester, day),
        changes_left=_changes_left(standing, batch.source, digester, day),
    )


def _least_part_g(standing: Standing, batch: Batch, digester: str, day: int) -> int:
    index = standing.index
    least_g = min(index.problem.rules.smallest_part_g, index.digesters[digester].min_pickup_g)
    return min(least_g, batch.amount_g) - standing.homes[digester].parts.get((batch.code, day), 0)


def _changes_left(standing: Standing, source: str, digester: str, day: int) -> int | None:
    budget = standing.index.problem.rules.change_budget
    if budget is None:
        return None
    if (source, digester, day) in standing.index.announced:
        return 1  # going back to what was announced costs nothing
    return budget - standing.changes()


@dataclass(frozen=True, slots=True)
class Room:
    """`fit_g` of the batch could come, `needed_g` at least must for a pickup to be allowed;
    `stops` are the rules that let in less than all that is left, each with what it alone lets
    in (`day_caps` stands for the days' maxima and shares together)."""

    fit_g: int
    needed_g: int
    stops: tuple[tuple[str, int], ...]

    @property
    def is_open(self) -> bool:
        return self.fit_g > 0 and self.fit_g >= self.needed_g


def room(it: Candidate) -> Room:
    """What all rules together let in."""
    digester = it.home.digester
    carried_g = it.home.carried_g(it.batch.source, it.day)
    needed_g = (
        max(1, digester.min_pickup_g - carried_g, it.least_part_g)
        if it.batch.divisible
        else it.batch.amount_g
    )
    stops = tuple(_stops(it, carried_g))
    return Room(min([it.left_g, *(room_g for _, room_g in stops)]), needed_g, stops)


def _refusals(it: Candidate) -> Iterator[str]:
    """Rules that let nothing in, however much room there is."""
    if it.pair is None:
        yield "too_far"
    if it.banned:
        yield "banned"
    if not it.accepted:
        yield "material_refused"
    if it.pair is not None and not it.meets:
        yield "hours_never_meet"
    if not it.feeding_days:
        yield "too_late"
    if it.exact:
        yield "amount_fixed"


def _stops(it: Candidate, carried_g: int) -> Iterator[tuple[str, int]]:
    for code in _refusals(it):
        yield code, 0
    digester = it.home.digester
    visitors = it.home.visitors(it.day)
    if it.batch.source not in visitors:
        if len(visitors) >= digester.max_visits_per_day:
            yield "home_visits", 0
        if it.other_homes >= it.max_homes:
            yield "source_homes", 0
        if it.changes_left is not None and it.changes_left < 1:
            yield "change_budget", 0
    if carried_g + it.left_g > digester.carry_limit_g:
        yield "carry_limit", max(0, digester.carry_limit_g - carried_g)
    rooms = day_rooms_g(it)
    caps_g = sum(rooms)
    if caps_g < it.left_g:
        yield "day_caps", caps_g
    bin_room_g, _ = _bin_room_g(it, rooms)
    if bin_room_g < min(it.left_g, caps_g):
        yield "bin_full", bin_room_g


def tightest(it: Candidate, found: Room) -> Limit | None:
    """The tightest rule with its figures, where not all that is left fits."""
    limit = None
    if found.stops:
        limit = _limit(it, *min(found.stops, key=lambda stop: stop[1]))
    if not it.batch.divisible or not 0 < found.fit_g < found.needed_g:
        return limit
    carried_g = it.home.carried_g(it.batch.source, it.day)
    least_g = it.home.digester.min_pickup_g
    if carried_g + found.fit_g >= least_g:
        return Limit("below_smallest_part", found.fit_g, 0, it.least_part_g, "g")
    what = limit.code if limit else ""
    return Limit("below_smallest_pickup", found.fit_g, carried_g, least_g, "g", what)


def _limit(it: Candidate, code: str, room_g: int) -> Limit:  # noqa: PLR0911 - one a rule
    digester = it.home.digester
    match code:
        case "home_visits":
            visits = len(it.home.visitors(it.day))
            return Limit(code, room_g, visits, digester.max_visits_per_day, "visits")
        case "source_homes":
            return Limit(code, room_g, it.other_homes, it.max_homes, "homes")
        case "change_budget":
            return Limit(code, room_g, 1 - (it.changes_left or 0), 0, "pickups")
        case "carry_limit":
            carried_g = it.home.carried_g(it.batch.source, it.day)
            return Limit(code, room_g, carried_g, digester.carry_limit_g, "g")
        case "day_caps":
            return _tightest_cap(it, room_g)
        case "bin_full":
            _, level_g = _bin_room_g(it, day_rooms_g(it))
            return Limit(code, room_g, level_g, digester.bin_g, "g")
        case _:
            return Limit(code, room_g)


def day_rooms_g(it: Candidate) -> list[int]:
    """Collected grams that each feeding day could still take, bin aside."""
    return [min([it.left_g, *day_caps_g(it, day).values()]) for day in it.feeding_days]


def day_caps_g(it: Candidate, day: int) -> dict[tuple[str, str], int]:
    """Collected grams that each maximum (by load) and share (by group) of a feeding day would
    alone let in."""
    home, lot = it.home, it.batch.code
    found = {
        ("day_maximum", name): max(0, left) // load
        for name, left, load in zip(LOADS, home.cap_left(day), home.loads_of(lot), strict=True)
        if load
    }
    groups = home.groups_of(lot)
    for cap in home.digester.share_caps:
        if cap.group in groups:
            share_g = home.share_room_g(cap, lot, day)
            if share_g is not None:
                key = ("share_cap", cap.group)
                found[key] = min(share_g, found.get(key, share_g))
    return found


def feed_early(it: Candidate, amount_g: int) -> tuple[tuple[int, int], ...]:
    """(day, grams) of feeding an amount that fits, as early as may be."""
    feeds = []
    for day, room_g in zip(it.feeding_days, day_rooms_g(it), strict=True):
        grams = min(room_g, amount_g)
        if grams:
            feeds.append((day, grams))
            amount_g -= grams
    return tuple(feeds)


def _tightest_cap(it: Candidate, room_g: int) -> Limit:
    """The day's maximum or share that alone lets in least; its figures over all the days."""
    home, digester = it.home, it.home.digester
    loads = home.loads_of(it.batch.code)
    found: list[tuple[int, Limit]] = []
    for at, name in enumerate(LOADS):
        if loads[at]:
            alone_g = sum(max(0, home.cap_left(day)[at]) // loads[at] for day in it.feeding_days)
            used = sum(home.fed[day][at] for day in it.feeding_days)
            cap = sum(cap_triple(digester, day)[at] for day in it.feeding_days)
            unit = "ml" if name == "slurry" else "g"
            found.append((alone_g, Limit("day_maximum", room_g, -(-used // UNIT), cap, unit, name)))
    for share_cap in digester.share_caps:
        if share_cap.group in home.groups_of(it.batch.code):
            rooms = [home.share_room_g(share_cap, it.batch.code, day) for day in it.feeding_days]
            if None not in rooms:
                alone_g = sum(room for room in rooms if room is not None)
                limit = Limit("share_cap", room_g, 0, share_cap.share_ppm, "ppm", share_cap.group)
                found.append((alone_g, limit))
    if not found:
        return Limit("too_late", 0)
    return min(found, key=lambda each: each[0])[1]


def _bin_room_g(it: Candidate, rooms: list[int]) -> tuple[int, int]:
    """Grams that the bin lets in when they are fed as early as the days' rooms allow, and
    the fullest level in grams of the day that binds."""
    load = it.home.bin_load_of(it.batch.code)
    if load == 0:
        return it.left_g, 0
    levels = it.home.bin_levels()
    best, full, fed_g = it.left_g, 0, 0
    for day, room_g in zip(it.feeding_days, rooms, strict=True):
        level = sum(levels[day])
        fits_g = fed_g + max(0, it.home.digester.bin_g * UNIT - level) // load
        if fits_g < best:
            best, full = fits_g, -(-level // UNIT)
        fed_g += room_g
    return best, full
