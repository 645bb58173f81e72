"""Rules bent one at a time: by how little would one have to give for a batch to be placed?

Every answer is a re-check with the rule bent, all pickups that the plan has staying as they
are ("with the same pickups"); a plan made anew around the bent rule may do better still.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from apps.planning.core.lookup import LOADS, UNIT
from apps.planning.core.problem import PPM, Digester, Problem
from apps.planning.core.room import Candidate, candidate, limits, room
from apps.planning.core.standing import Standing

VOLUNTEER_LIFT_G = 15_000
"""Most a volunteer should lift at once; a group's own rule, common practice, no source."""

BY_AGREEMENT = frozenset(
    {"home_visits", "source_homes", "hours", "ban", "change_budget", "smallest_pickup"}
)
"""Rules that people can bend by agreeing to; the others guard a tank, a back or a nose, and
are offered only where none of these would do."""


@dataclass(frozen=True, slots=True)
class Bend:
    """One rule given up by `by` of `unit` at one place; `limit` is what it is now.
    `day` is the day of collection, `cap_day` the feeding day of a day's maximum."""

    rule: str
    source: str
    digester: str
    day: int
    by: int
    limit: int
    unit: str
    what: str = ""
    cap_day: int = 0

    @property
    def by_agreement(self) -> bool:
        if self.rule == "carry_limit":
            return self.limit + self.by <= VOLUNTEER_LIFT_G
        return self.rule in BY_AGREEMENT

    @property
    def cost(self) -> tuple[bool, int]:
        """Cheapest first: by agreement before the rest, then by the part it is of its limit."""
        return not self.by_agreement, self.by * PPM // max(1, self.limit)

    def apply(self, problem: Problem) -> Problem:
        """The problem with this rule bent and nothing else changed."""
        if self.rule == "source_homes":
            return replace(
                problem,
                sources=tuple(
                    replace(each, max_homes_per_day=each.max_homes_per_day + self.by)
                    if each.code == self.source
                    else each
                    for each in problem.sources
                ),
            )
        if self.rule == "hours":
            return replace(
                problem,
                pairs=tuple(
                    replace(
                        each,
                        meets_on_day=tuple(
                            meets or day == self.day for day, meets in enumerate(each.meets_on_day)
                        ),
                    )
                    if (each.source, each.digester) == (self.source, self.digester)
                    else each
                    for each in problem.pairs
                ),
            )
        if self.rule == "ban":
            return replace(
                problem,
                bans=tuple(
                    each
                    for each in problem.bans
                    if (each.source, each.digester) != (self.source, self.digester)
                    or each.day not in (None, self.day)
                ),
            )
        if self.rule == "change_budget":
            budget = problem.rules.change_budget or 0
            return replace(problem, rules=replace(problem.rules, change_budget=budget + self.by))
        return replace(
            problem,
            digesters=tuple(
                bend_digester(each, self) if each.code == self.digester else each
                for each in problem.digesters
            ),
        )


def bend_digester(digester: Digester, bend: Bend) -> Digester:  # noqa: PLR0911 - one a rule
    """The digester with one of its own rules bent."""
    by = bend.by
    match bend.rule:
        case "home_visits":
            return replace(digester, max_visits_per_day=digester.max_visits_per_day + by)
        case "smallest_pickup":
            return replace(digester, min_pickup_g=digester.min_pickup_g - by)
        case "carry_limit":
            return replace(digester, carry_limit_g=digester.carry_limit_g + by)
        case "bin":
            return replace(digester, bin_g=digester.bin_g + by)
        case "material":
            return replace(digester, accepts=digester.accepts | {bend.what})
        case "share_cap":
            return replace(
                digester,
                share_caps=tuple(
                    replace(cap, share_ppm=cap.share_ppm + by) if cap.group == bend.what else cap
                    for cap in digester.share_caps
                ),
            )
        case "day_maximum":
            field = {"feed": "feed_g", "vs": "vs_g", "slurry": "slurry_ml"}[bend.what]
            return replace(
                digester,
                caps=tuple(
                    replace(cap, **{field: getattr(cap, field) + by})
                    if day == bend.cap_day
                    else cap
                    for day, cap in enumerate(digester.caps)
                ),
            )
        case _:
            raise ValueError(f"{bend.rule} is not a rule of a digester.")


def bent(it: Candidate, bend: Bend) -> Candidate:
    """The candidate seen with the rule bent."""
    match bend.rule:
        case "source_homes":
            return replace(it, max_homes=it.max_homes + bend.by)
        case "hours":
            return replace(it, meets=True)
        case "ban":
            return replace(it, banned=False)
        case "change_budget":
            return replace(it, changes_left=(it.changes_left or 0) + bend.by)
        case _:
            digester = bend_digester(it.home.digester, bend)
            return replace(
                it,
                home=it.home.clone(digester),
                accepted=it.accepted or bend.rule == "material",
            )


def smallest_change(standing: Standing, batch_code: str) -> tuple[Bend, int] | None:
    """The cheapest single rule to bend, and the grams it places of what is left over.

    Bends that place all of it come before those that place a part; among parts the largest.
    None where no single rule is enough.
    """
    batch = standing.index.batches[batch_code]
    candidates = [
        candidate(standing, batch, pair.digester, day)
        for pair in standing.index.homes_near[batch.source]
        for day in standing.index.collection_days(batch)
    ]
    best: tuple[tuple[object, ...], Bend, int] | None = None
    for by_agreement in (True, False):
        for it in candidates:
            for bend, placed_g in bends_of(it, by_agreement=by_agreement):
                distance_m = it.pair.distance_m if it.pair else 0
                rank = (-placed_g, bend.cost, distance_m, bend.digester, bend.day, bend.rule)
                if best is None or rank < best[0]:
                    best = (rank, bend, placed_g)
        if best is not None and best[2] == standing.left_g[batch_code]:
            break  # a rule that guards something is not asked for where an agreement will do
    return (best[1], best[2]) if best else None


def bends_of(it: Candidate, *, by_agreement: bool) -> Iterator[tuple[Bend, int]]:
    """Each single rule that, bent as little as may be, lets the most of the batch in; of the
    rules that people can agree on (carrying may turn out not to be one), or of the others."""
    if it.left_g == 0 or room(it).is_open:
        return
    helping = _helping_rules(it)
    if not helping:
        return
    for bend, most in _whole_bends(it):
        if bend.rule not in helping:
            continue
        if (bend.rule in BY_AGREEMENT or bend.rule == "carry_limit") != by_agreement:
            continue
        far = room(bent(it, replace(bend, by=most)))
        if not far.is_open:
            continue
        enough = _enough(it, bend, far.fit_g)
        yield replace(bend, by=_least(enough, most)), far.fit_g


_BY_MAXIMUM = frozenset({"day_maximum", "share_cap", "smallest_pickup"})

HELPS: dict[str, frozenset[str]] = {
    "banned": frozenset({"ban"}),
    "material_refused": frozenset({"material"}),
    "hours_never_meet": frozenset({"hours"}),
    "home_visits": frozenset({"home_visits"}),
    "source_homes": frozenset({"source_homes"}),
    "change_budget": frozenset({"change_budget"}),
    "carry_limit": frozenset({"carry_limit", "smallest_pickup"}),
    "day_maximum": _BY_MAXIMUM,
    "share_cap": _BY_MAXIMUM,
    "bin_full": _BY_MAXIMUM | {"bin"},
}
"""Which rules, bent, could ease a limit (a bin empties sooner when more may be fed). A limit
that is not here cannot be eased."""


def _helping_rules(it: Candidate) -> frozenset[str]:
    """The rules that could ease every limit that lets in less than a pickup needs."""
    needed_g = room(it).needed_g
    helping: frozenset[str] | None = None
    if it.left_g < needed_g:
        helping = frozenset({"smallest_pickup"})
    for limit in limits(it):
        if limit.room_g < needed_g:
            helps = HELPS.get(limit.code, frozenset())
            helping = helps if helping is None else helping & helps
    return helping or frozenset()


def _enough(it: Candidate, bend: Bend, wanted_g: int) -> Callable[[int], bool]:
    def enough(by: int) -> bool:
        found = room(bent(it, replace(bend, by=by)))
        return found.is_open and found.fit_g >= wanted_g

    return enough


def _least(enough: Callable[[int], bool], most: int) -> int:
    """The least whole number from 1 to `most` that is enough; `most` is."""
    low, high = 1, most
    while low < high:
        middle = (low + high) // 2
        if enough(middle):
            high = middle
        else:
            low = middle + 1
    return low


def _whole_bends(it: Candidate) -> Iterator[tuple[Bend, int]]:
    """Each rule that might be bent, and the most that could be of use."""
    digester = it.home.digester
    source, code, day = it.batch.source, digester.code, it.day

    def bend(rule: str, limit: int, unit: str, what: str = "", cap_day: int = 0) -> Bend:
        return Bend(rule, source, code, day, 1, limit, unit, what, cap_day)

    if it.pair is None:
        return
    yield bend("home_visits", digester.max_visits_per_day, "visits"), 1
    yield bend("source_homes", it.max_homes, "homes"), 1
    if not it.meets:
        yield bend("hours", 1, "days"), 1
    if it.banned:
        yield bend("ban", 1, "bans"), 1
    if not it.accepted:
        yield bend("material", 1, "materials", it.batch.material), 1
    if it.changes_left is not None and it.changes_left < 1:
        yield bend("change_budget", max(1, it.changes_left), "pickups"), 1 - it.changes_left
    if digester.min_pickup_g > 1:
        limit = digester.min_pickup_g
        yield bend("smallest_pickup", limit, "g"), limit - 1
    loads = it.home.loads_of(it.batch.code)
    most_g = it.left_g
    yield bend("carry_limit", digester.carry_limit_g, "g"), most_g
    yield bend("bin", digester.bin_g, "g"), _most(it, loads[0])
    for cap_day in it.feeding_days:
        for at, name in enumerate(LOADS):
            if loads[at]:
                caps = digester.caps[cap_day]
                limit = (caps.feed_g, caps.vs_g, caps.slurry_ml)[at]
                unit = "ml" if name == "slurry" else "g"
                yield (
                    bend("day_maximum", limit, unit, name, cap_day),
                    _most(it, loads[at]) + max(0, -it.home.cap_left(cap_day)[at] // UNIT),
                )
    for cap in digester.share_caps:
        if cap.group in it.home.groups_of(it.batch.code) and cap.share_ppm < PPM:
            yield bend("share_cap", cap.share_ppm, "ppm", cap.group), PPM - cap.share_ppm


def _most(it: Candidate, load: int) -> int:
    """All that is left of the batch, as a load in whole units, rounded up."""
    return max(1, -(-it.left_g * load // UNIT))
