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
        changes_left=_changes_left(standing, batch.source, digester, day),
    )


def _changes_left(standing: Standing, source: str, digester: str, day: int) -> int | None:
    problem = standing.index.problem
    if problem.rules.change_budget is None:
        return None
    before = {
        (standing.index.batches[p.batch].source, p.digester, p.day)
        for p in problem.previous
        if p.batch in standing.index.batches
    }
    if (source, digester, day) in before:
        return 1  # going back to what was announced costs nothing
    now = {
        (each, home, when) for (each, when), homes in standing.homes_of.items() for home in homes
    }
    return problem.rules.change_budget - len(before ^ now)


@dataclass(frozen=True, slots=True)
class Room:
    """`fit_g` of the batch could come, `needed_g` at least must for a pickup to be allowed;
    `limit` is the tightest rule where not all that is left fits."""

    fit_g: int
    needed_g: int
    limit: Limit | None

    @property
    def is_open(self) -> bool:
        return self.fit_g > 0 and self.fit_g >= self.needed_g


def room(it: Candidate) -> Room:
    """What all rules together let in."""
    found = list(limits(it))
    digester = it.home.digester
    carried_g = it.home.carried_g(it.batch.source, it.day)
    needed_g = (
        max(1, digester.min_pickup_g - carried_g) if it.batch.divisible else it.batch.amount_g
    )
    fit_g = min([it.left_g, *(limit.room_g for limit in found)])
    tightest = min(found, key=lambda limit: limit.room_g, default=None)
    if it.batch.divisible and 0 < fit_g < needed_g:
        tightest = Limit(
            "below_smallest_pickup",
            fit_g,
            carried_g,
            digester.min_pickup_g,
            "g",
            tightest.code if tightest else "",
        )
    return Room(fit_g, needed_g, tightest)


def limits(it: Candidate) -> Iterator[Limit]:
    """The rules that let in less than all that is left, each taken alone."""
    digester = it.home.digester
    for code, allowed in (
        ("too_far", it.pair is not None),
        ("banned", not it.banned),
        ("material_refused", it.accepted),
        ("hours_never_meet", it.meets or it.pair is None),
        ("too_late", bool(it.feeding_days)),
        ("amount_fixed", not it.exact),
    ):
        if not allowed:
            yield Limit(code, 0)
    visitors = it.home.visitors(it.day)
    if it.batch.source not in visitors:
        if len(visitors) >= digester.max_visits_per_day:
            yield Limit("home_visits", 0, len(visitors), digester.max_visits_per_day, "visits")
        if it.other_homes >= it.max_homes:
            yield Limit("source_homes", 0, it.other_homes, it.max_homes, "homes")
        if it.changes_left is not None and it.changes_left < 1:
            yield Limit("change_budget", 0, 1 - it.changes_left, 0, "pickups")
    carried_g = it.home.carried_g(it.batch.source, it.day)
    if carried_g + it.left_g > digester.carry_limit_g:
        room_g = max(0, digester.carry_limit_g - carried_g)
        yield Limit("carry_limit", room_g, carried_g, digester.carry_limit_g, "g")
    rooms = day_rooms_g(it)
    if sum(rooms) < it.left_g:
        yield _tightest_cap(it, sum(rooms))
    bin_room_g, level = _bin_room_g(it, rooms)
    if bin_room_g < min(it.left_g, sum(rooms)):
        yield Limit("bin_full", bin_room_g, level, digester.bin_g, "g")


def day_rooms_g(it: Candidate) -> list[int]:
    """Collected grams that each feeding day could still take, bin aside."""
    loads = it.home.loads_of(it.batch.code)
    groups = it.home.groups_of(it.batch.code)
    caps = [cap for cap in it.home.digester.share_caps if cap.group in groups]
    rooms = []
    for day in it.feeding_days:
        left = it.home.cap_left(day)
        found = [it.left_g]
        found += [max(0, left[at]) // loads[at] for at in range(3) if loads[at]]
        for cap in caps:
            share_g = it.home.share_room_g(cap, it.batch.code, day)
            if share_g is not None:
                found.append(share_g)
        rooms.append(min(found))
    return rooms


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
    load = it.home.loads_of(it.batch.code)[0]
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
