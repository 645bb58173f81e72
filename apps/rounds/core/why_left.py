"""Why an errand is in no tour: tried at every place of every tour.

The place where least would have to give way is named. A limit broken by little is easier to
mend than one broken by much, so limits are compared by what they break, then by how much.

O(n²) places for one errand and a tour of n visits, each walked only until it is worse than the
best so far; only what is worth naming is timed in full.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from apps.rounds.core.answer import Left, Why
from apps.rounds.core.problem import Carrier, Errand, Rounds, Side, Tour, Visit
from apps.rounds.core.schedule import Rule, Timing, timing

RANK = {Rule.LATE: 0, Rule.SHIFT: 1, Rule.BREAK: 2, Rule.LOAD: 3, Rule.AVOID: 4, Rule.ORDER: 5}
WHY = {
    Rule.LATE: Why.LATE,
    Rule.SHIFT: Why.SHIFT,
    Rule.BREAK: Why.BREAK,
    Rule.LOAD: Why.LOAD,
    Rule.AVOID: Why.AVOID,
}
Weight = tuple[int, int]
FITS: Weight = (-1, 0)
NEVER: Weight = (9, 0)


def why_left(rounds: Rounds, tours: Sequence[Timing], errand: Errand) -> Left:
    """The least that keeps `errand` out; carriers who stay at home are tried too."""
    best: tuple[Weight, Left] | None = None
    out = {tour.carrier: tour for tour in tours}
    for carrier in rounds.carriers:
        if errand.carrier not in (None, carrier.code):
            continue
        found = _in_tour(rounds, carrier, out.get(carrier.code), errand)
        if best is None or found[0] < best[0]:
            best = found
    return best[1] if best else Left(errand.code, errand.carrier or "", Why.BOUND)


def _in_tour(
    rounds: Rounds, carrier: Carrier, tour: Timing | None, errand: Errand
) -> tuple[Weight, Left]:
    if any(end.place in carrier.avoids for end in errand.ends):
        return NEVER, Left(errand.code, carrier.code, Why.AVOID)
    over_g = errand.amount_g - carrier.load_limit_g
    if over_g > 0:
        return NEVER, Left(errand.code, carrier.code, Why.LOAD, over_g)
    here = tuple(moment.visit for moment in tour.moments) if tour else ()
    least: Weight = NEVER
    spots: list[tuple[int, int]] = []
    for at in _spots(len(here), errand):
        weight = _quick(rounds, carrier, _put_in(here, errand, at), least)
        if weight < least:
            least, spots = weight, [at]
        elif weight == least == FITS:
            spots.append(at)
    return _judged(rounds, carrier, tour, errand, spots)


def _judged(
    rounds: Rounds,
    carrier: Carrier,
    tour: Timing | None,
    errand: Errand,
    spots: Sequence[tuple[int, int]],
) -> tuple[Weight, Left]:
    here = tuple(moment.visit for moment in tour.moments) if tour else ()
    before = tour.cost(carrier) if tour else 0
    timed = {at: timing(rounds, Tour(carrier.code, _put_in(here, errand, at))) for at in spots}
    at = min(spots, key=lambda spot: (timed[spot].cost(carrier), spot))
    tried = timed[at]

    def left(why: Why, by: int, late_at: int | None = None) -> Left:
        rests = tuple(rest.before for rest in tried.rests)
        return Left(errand.code, carrier.code, why, by, *at, rests, late_at)

    if not tried.breaches:
        extra = tried.cost(carrier) - before
        if errand.value is not None and extra > errand.value:
            return (0, extra), left(Why.NOT_WORTH, extra - errand.value)
        return (-1, extra), left(Why.CROWDED, extra)
    worst = max(tried.breaches, key=lambda each: (RANK[each.rule], each.by))
    late_at = worst.at if worst.rule is Rule.LATE else None
    return (1 + RANK[worst.rule], worst.by), left(WHY[worst.rule], worst.by, late_at)


def _spots(visits: int, errand: Errand) -> Iterator[tuple[int, int]]:
    """Where its fetching and its bringing may stand in the longer tour."""
    for fetch_at in range(visits + 1):
        if errand.bring is None:
            yield fetch_at, fetch_at
            continue
        for bring_at in range(fetch_at + 1, visits + 2):
            yield fetch_at, bring_at


def _put_in(here: tuple[Visit, ...], errand: Errand, at: tuple[int, int]) -> tuple[Visit, ...]:
    fetch_at, bring_at = at
    fetch, bring = Visit(errand.code, Side.FETCH), Visit(errand.code, Side.BRING)
    if bring_at == fetch_at:
        return (*here[:fetch_at], fetch, *here[fetch_at:])
    return (
        *here[:fetch_at],
        fetch,
        *here[fetch_at : bring_at - 1],
        bring,
        *here[bring_at - 1 :],
    )


def _quick(rounds: Rounds, carrier: Carrier, visits: Sequence[Visit], least: Weight) -> Weight:
    """The worst that the tour breaks, as `timing` finds it; anything above `least` once that is
    sure. Carriers with breaks are timed in full."""
    if carrier.breaks:
        breaches = timing(rounds, Tour(carrier.code, tuple(visits))).breaches
        return max(((RANK[each.rule], each.by) for each in breaches), default=FITS)
    seconds = rounds.ways[carrier.ways].seconds
    clock, worst = carrier.shift.from_s, FITS
    load_g = sum(
        each.amount_g
        for each in rounds.errands
        if each.fetch is None and each.carrier == carrier.code
    )
    here = carrier.start
    for visit in visits:
        errand = rounds.errand[visit.errand]
        is_fetch = visit.side is Side.FETCH
        end = errand.fetch if is_fetch else errand.bring
        assert end is not None
        clock = max(clock + seconds[here][end.place], end.window.from_s)
        late_s = clock - end.window.till_s
        if late_s > 0:
            worst = max(worst, (RANK[Rule.LATE], late_s))
        load_g += errand.amount_g if is_fetch else -errand.amount_g
        if load_g > carrier.load_limit_g:
            worst = max(worst, (RANK[Rule.LOAD], load_g - carrier.load_limit_g))
        if worst > least:
            return worst
        clock += end.service_s
        here = end.place
    back_late_s = clock + seconds[here][carrier.end] - carrier.shift.till_s
    return max(worst, (RANK[Rule.SHIFT], back_late_s)) if back_late_s > 0 else worst
