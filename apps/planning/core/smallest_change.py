"""By how little would one rule have to give for a batch to be placed?

Every answer is a re-check with the rule bent, all pickups that the plan has staying as they
are ("with the same pickups"); a plan made anew around the bent rule may do better still.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from apps.planning.core.bends import BY_AGREEMENT, Bend, bent
from apps.planning.core.lookup import LOADS, UNIT, cap_triple
from apps.planning.core.problem import PPM
from apps.planning.core.room import Candidate, Room, day_caps_g, room

_BY_MAXIMUM = frozenset({"day_maximum", "share_cap", "smallest_pickup"})

HELPS: dict[str, frozenset[str]] = {
    "banned": frozenset({"ban"}),
    "material_refused": frozenset({"material"}),
    "hours_never_meet": frozenset({"hours"}),
    "home_visits": frozenset({"home_visits"}),
    "source_homes": frozenset({"source_homes"}),
    "change_budget": frozenset({"change_budget"}),
    "carry_limit": frozenset({"carry_limit", "smallest_pickup"}),
    "day_caps": _BY_MAXIMUM,
    "bin_full": _BY_MAXIMUM | {"bin"},
}
"""Which rules, bent, could ease a limit (a bin empties sooner when more may be fed). A limit
that is not here cannot be eased."""


@dataclass(frozen=True, slots=True)
class _Option:
    """Bending a rule as far as could be of use lets `placed_g` of the batch in."""

    it: Candidate
    bend: Bend
    placed_g: int

    def rank(self, bend: Bend) -> tuple[object, ...]:
        """How good the bend is that places as much, best first."""
        distance_m = self.it.pair.distance_m if self.it.pair else 0
        cost = bend.cost_of(bend.by)
        return -self.placed_g, cost, distance_m, bend.digester, bend.day, bend.rule

    def enough(self, by: int) -> bool:
        found = room(bent(self.it, replace(self.bend, by=by)))
        return found.is_open and found.fit_g >= self.placed_g


def smallest_change(tests: Sequence[tuple[Candidate, Room]]) -> tuple[Bend, int] | None:
    """The cheapest single rule to bend, and the grams it places of what is left over;
    `tests` are of one batch, at every home in reach on every day.

    Bends that place all of it come before those that place a part; among parts the largest.
    None where no single rule is enough.
    """
    best: tuple[_Option, Bend] | None = None
    for by_agreement in (True, False):
        options = [
            option
            for it, found in tests
            for option in _options_of(it, found, by_agreement=by_agreement)
        ]
        best = _best_of(options, best)
        if best is not None and best[0].placed_g == best[0].it.left_g:
            break  # a rule that guards something is not asked for where an agreement will do
    return (best[1], best[0].placed_g) if best else None


def _best_of(
    options: Sequence[_Option], best: tuple[_Option, Bend] | None
) -> tuple[_Option, Bend] | None:
    """Only what places the most is bent as little as may be, and no further than what the
    best so far costs."""
    most_g = max(
        [option.placed_g for option in options] + ([best[0].placed_g] if best else []), default=0
    )
    for option in options:
        if option.placed_g < most_g:
            continue
        most = option.bend.by
        if best is not None and best[0].placed_g == most_g:
            most = _affordable(option.bend, best[1].cost_of(best[1].by))
            if most < option.bend.by and not (most and option.enough(most)):
                continue
        bend = replace(option.bend, by=_least(option.enough, most))
        if best is None or best[0].placed_g < most_g or option.rank(bend) < best[0].rank(best[1]):
            best = option, bend
    return best


def _affordable(bend: Bend, cost: tuple[bool, int]) -> int:
    """The most, up to its own, that costs no more; 0 where nothing does."""
    if bend.cost_of(bend.by) <= cost:
        return bend.by
    return _least(lambda by: bend.cost_of(by) > cost, bend.by) - 1


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


def _options_of(it: Candidate, found: Room, *, by_agreement: bool) -> Iterator[_Option]:
    """Each single rule that, bent, lets some of the batch in; of the rules that people can
    agree on (carrying may turn out not to be one), or of the others."""
    if it.left_g == 0 or found.is_open:
        return
    rules = {
        rule
        for rule in _helping_rules(it, found)
        if (rule in BY_AGREEMENT or rule == "carry_limit") == by_agreement
    }
    if not rules:
        return
    for bend in _whole_bends(it, found):
        if bend.rule in rules:
            far = room(bent(it, bend))
            if far.is_open:
                yield _Option(it, bend, far.fit_g)


def _helping_rules(it: Candidate, found: Room) -> frozenset[str]:
    """The rules that could ease every limit that lets in less than a pickup needs."""
    helping: frozenset[str] | None = None
    if it.left_g < found.needed_g:
        helping = frozenset({"smallest_pickup"})
    for code, room_g in found.stops:
        if room_g < found.needed_g:
            helps = HELPS.get(code, frozenset())
            helping = helps if helping is None else helping & helps
    helping = helping or frozenset()
    return helping if found.fit_g else helping - {"smallest_pickup"}  # nothing fits, however small


def _whole_bends(it: Candidate, found: Room) -> Iterator[Bend]:
    """Each rule that might be bent, as far as could be of use."""
    digester = it.home.digester
    source, code, day = it.batch.source, digester.code, it.day

    def bend(rule: str, by: int, limit: int, unit: str, what: str = "", cap_day: int = 0) -> Bend:
        return Bend(rule, source, code, day, by, limit, unit, what, cap_day)

    if it.pair is None:
        return
    yield bend("home_visits", 1, digester.max_visits_per_day, "visits")
    yield bend("source_homes", 1, it.max_homes, "homes")
    if not it.meets:
        yield bend("hours", 1, 1, "days")
    if it.banned:
        yield bend("ban", 1, 1, "bans")
    if not it.accepted:
        yield bend("material", 1, 1, "materials", it.batch.material)
    if it.changes_left is not None and it.changes_left < 1:
        yield bend("change_budget", 1 - it.changes_left, max(1, it.changes_left), "pickups")
    if digester.min_pickup_g > 1:
        yield bend("smallest_pickup", digester.min_pickup_g - 1, digester.min_pickup_g, "g")
    loads = it.home.loads_of(it.batch.code)
    caps_g = dict(found.stops).get("day_caps", it.left_g)
    yield bend("carry_limit", it.left_g, digester.carry_limit_g, "g")
    yield bend("bin", _most(it, it.home.bin_load_of(it.batch.code)), digester.bin_g, "g")
    gains_g: dict[str, int] = defaultdict(int)
    for cap_day in it.feeding_days:
        rule, what, gain_g = _gain_g(it, cap_day)
        if rule == "share_cap":
            gains_g[what] += gain_g
        elif gain_g and caps_g + gain_g >= found.needed_g:
            at = LOADS.index(what)
            limit = cap_triple(digester, cap_day)[at]
            by = _most(it, loads[at]) + max(0, -it.home.cap_left(cap_day)[at] // UNIT)
            unit = "ml" if what == "slurry" else "g"
            yield bend("day_maximum", by, limit, unit, what, cap_day)
    for cap in digester.share_caps:
        if gains_g[cap.group] and caps_g + gains_g[cap.group] >= found.needed_g:
            yield bend("share_cap", PPM - cap.share_ppm, cap.share_ppm, "ppm", cap.group)


def _gain_g(it: Candidate, day: int) -> tuple[str, str, int]:
    """The one maximum or share that binds on a feeding day (where two do, neither is worth
    bending), and how much more the day would take without it."""
    caps = sorted((room_g, *key) for key, room_g in day_caps_g(it, day).items())
    if not caps:
        return "", "", 0
    (room_g, rule, what), *others = caps
    next_g = min([it.left_g, *(each_g for each_g, _, _ in others)])
    return rule, what, max(0, next_g - room_g)


def _most(it: Candidate, load: int) -> int:
    """All that is left of the batch, as a load in whole units, rounded up."""
    return max(1, -(-it.left_g * load // UNIT))
