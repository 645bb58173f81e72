"""When somebody is where on one tour, with what on the cart, and which limits that breaks.

The order of visits is given. Breaks are put where they delay least; then the setting out is as
late as it can be without coming back later. O(visits × breaks).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from apps.rounds.core.problem import Break, Carrier, Rounds, Side, Tour, Visit, Window


class Rule(StrEnum):
    """Which hard limit is broken."""

    LATE = "late"
    """An end is reached after its window: seconds."""
    SHIFT = "shift"
    """Back after the shift's end: seconds."""
    LOAD = "load"
    """More on the cart than it carries: grams."""
    BREAK = "break"
    """A break begins too late: seconds."""
    AVOID = "avoid"
    """A place this carrier may not visit."""
    ORDER = "order"
    """Brought before it was fetched, half done, done twice, or by the wrong carrier."""


@dataclass(frozen=True, slots=True)
class Breach:
    """One broken limit: by how much, and at which visit (index), where there is one."""

    rule: Rule
    by: int = 0
    at: int | None = None


@dataclass(frozen=True, slots=True)
class Moment:
    """One visit: the work begins at `begin_s`; `load_g` is on the cart when leaving."""

    visit: Visit
    arrive_s: int
    begin_s: int
    leave_s: int
    load_g: int


@dataclass(frozen=True, slots=True)
class Rest:
    """One break, taken before the visit with index `before` (one past the last: at the end)."""

    before: int
    begin_s: int
    length_s: int


@dataclass(frozen=True, slots=True)
class Timing:
    """A tour with its times. `gram_metres`: load times way, summed over the legs."""

    carrier: str
    depart_s: int
    back_s: int
    moments: tuple[Moment, ...]
    rests: tuple[Rest, ...]
    metres: int
    gram_metres: int
    breaches: tuple[Breach, ...]

    @property
    def seconds(self) -> int:
        """From setting out to being back."""
        return self.back_s - self.depart_s

    def cost(self, carrier: Carrier) -> int:
        """At the carrier's rates; a carrier who stays at home costs nothing."""
        if not self.moments:
            return 0
        return (
            carrier.going_out_cost
            + carrier.metre_cost * self.metres
            + carrier.second_cost * self.seconds
        )


@dataclass(frozen=True, slots=True)
class _Step:
    """A visit or a break as the clock sees it."""

    travel_s: int
    window: Window
    service_s: int


def timing(rounds: Rounds, tour: Tour, breaks_before: Sequence[int] | None = None) -> Timing:
    """Times of `tour`. `breaks_before`: take the breaks just there; None: where they delay
    least."""
    carrier = rounds.carrier[tour.carrier]
    steps = _steps(rounds, carrier, tour.visits)
    if breaks_before is None:
        breaks_before = place_breaks(carrier, steps)
    merged, is_break = _with_breaks(steps, carrier.breaks, breaks_before)
    begins, depart_s, late_s = _clock(merged, carrier.shift)
    moments, rests, breaches = [], [], _breaches_of_order(rounds, tour)
    load_g = sum(rounds.errand[code].amount_g for code in _on_board(rounds, tour))
    at_s, number, reached_s = depart_s, 0, None
    if load_g > carrier.load_limit_g:
        breaches.append(Breach(Rule.LOAD, load_g - carrier.load_limit_g))
    breaks = iter(carrier.breaks)
    for step, begin_s, breaking, late in zip(merged, begins, is_break, late_s, strict=True):
        arrive_s = at_s + step.travel_s if reached_s is None else reached_s
        reached_s = arrive_s if breaking else None
        at_s = begin_s + step.service_s
        if breaking:
            rests.append(Rest(number, begin_s, next(breaks).length_s))
            if late:
                breaches.append(Breach(Rule.BREAK, late))
            continue
        if number == len(tour.visits):
            if late:
                breaches.append(Breach(Rule.SHIFT, late))
            break
        visit = tour.visits[number]
        errand = rounds.errand[visit.errand]
        load_g += errand.amount_g if visit.side is Side.FETCH else -errand.amount_g
        moments.append(Moment(visit, arrive_s, begin_s, at_s, load_g))
        if late:
            breaches.append(Breach(Rule.LATE, late, number))
        if load_g > carrier.load_limit_g:
            breaches.append(Breach(Rule.LOAD, load_g - carrier.load_limit_g, number))
        if errand.end(visit.side).place in carrier.avoids:
            breaches.append(Breach(Rule.AVOID, 0, number))
        number += 1
    metres, gram_metres = _carried(rounds, carrier, moments, tour)
    return Timing(
        carrier=tour.carrier,
        depart_s=depart_s,
        back_s=begins[-1],
        moments=tuple(moments),
        rests=tuple(rests),
        metres=metres,
        gram_metres=gram_metres,
        breaches=tuple(breaches),
    )


def place_breaks(carrier: Carrier, steps: Sequence[_Step]) -> tuple[int, ...]:
    """Before which step each break is taken, so that least is late and then all ends soonest; the
    later place where it makes no difference."""
    breaks = carrier.breaks
    if not breaks:
        return ()
    # best[b]: lateness, clock and places of the first b breaks, after the steps so far.
    best: dict[int, tuple[int, int, tuple[int, ...]]] = {0: (0, carrier.shift.from_s, ())}
    for number, step in enumerate(steps):
        arrived = {b: (late, at + step.travel_s, before) for b, (late, at, before) in best.items()}
        for b, rest in enumerate(breaks):
            if b not in arrived:
                continue
            late, at, before = arrived[b]
            begin_s = max(at, rest.window.from_s)
            late += max(0, begin_s - rest.window.till_s)
            taken = (late, begin_s + rest.length_s, (*before, number))
            if b + 1 not in arrived or taken[:2] <= arrived[b + 1][:2]:
                arrived[b + 1] = taken
        best = {}
        for b, (late, at, before) in arrived.items():
            begin_s = max(at, step.window.from_s)
            late_s = max(0, begin_s - step.window.till_s)
            best[b] = (late + late_s, begin_s + step.service_s, before)
    return best[len(breaks)][2]


def _steps(rounds: Rounds, carrier: Carrier, visits: Sequence[Visit]) -> list[_Step]:
    seconds = rounds.ways[carrier.ways].seconds
    here, steps = carrier.start, []
    for visit in visits:
        end = rounds.errand[visit.errand].end(visit.side)
        steps.append(_Step(seconds[here][end.place], end.window, end.service_s))
        here = end.place
    way_back = Window(carrier.shift.from_s, carrier.shift.till_s)
    return [*steps, _Step(seconds[here][carrier.end], way_back, 0)]


def _with_breaks(
    steps: Sequence[_Step], breaks: Sequence[Break], before: Sequence[int]
) -> tuple[list[_Step], list[bool]]:
    """A break comes after the way and before the work of the step it precedes."""
    merged: list[_Step] = []
    is_break: list[bool] = []
    for number, step in enumerate(steps):
        travel_s = step.travel_s
        for rest, place in zip(breaks, before, strict=True):
            if place == number:
                merged.append(_Step(travel_s, rest.window, rest.length_s))
                is_break.append(True)
                travel_s = 0
        merged.append(_Step(travel_s, step.window, step.service_s))
        is_break.append(False)
    return merged, is_break


def _clock(steps: Sequence[_Step], shift: Window) -> tuple[list[int], int, list[int]]:
    """Beginning of each step, the setting out, and by how much each begins too late."""
    begins, late_s, at_s = [], [], shift.from_s
    for step in steps:
        begin_s = max(at_s + step.travel_s, step.window.from_s)
        begins.append(begin_s)
        late_s.append(max(0, begin_s - step.window.till_s))
        at_s = begin_s + step.service_s
    latest_s = begins[-1]
    for number in range(len(steps) - 1, -1, -1):
        step = steps[number]
        room_s = max(begins[number], step.window.till_s)
        latest_s = min(latest_s, room_s) - step.travel_s
        if number:
            latest_s -= steps[number - 1].service_s
    depart_s = max(shift.from_s, latest_s)
    at_s = depart_s
    for number, step in enumerate(steps):
        begins[number] = max(at_s + step.travel_s, step.window.from_s)
        at_s = begins[number] + step.service_s
    return begins, depart_s, late_s


def _on_board(rounds: Rounds, tour: Tour) -> list[str]:
    return [
        each.code for each in rounds.errands if each.fetch is None and each.carrier == tour.carrier
    ]


def _breaches_of_order(rounds: Rounds, tour: Tour) -> list[Breach]:
    on_cart, breaches = set(_on_board(rounds, tour)), list[Breach]()
    done: set[str] = set()
    for number, visit in enumerate(tour.visits):
        errand = rounds.errand[visit.errand]
        is_right = errand.carrier in (None, tour.carrier)
        if visit.side is Side.FETCH:
            is_right = is_right and visit.errand not in on_cart | done
            on_cart.add(visit.errand)
        else:
            is_right = is_right and visit.errand in on_cart
            on_cart.discard(visit.errand)
            done.add(visit.errand)
        if not is_right:
            breaches.append(Breach(Rule.ORDER, 0, number))
    half_done = [code for code in on_cart if rounds.errand[code].bring is not None]
    if half_done:
        breaches.append(Breach(Rule.ORDER, len(half_done)))
    return breaches


def _carried(
    rounds: Rounds, carrier: Carrier, moments: Sequence[Moment], tour: Tour
) -> tuple[int, int]:
    matrix = rounds.ways[carrier.ways].metres
    here, metres, gram_metres = carrier.start, 0, 0
    load_g = sum(rounds.errand[code].amount_g for code in _on_board(rounds, tour))
    for moment in moments:
        place = rounds.errand[moment.visit.errand].end(moment.visit.side).place
        metres += matrix[here][place]
        gram_metres += matrix[here][place] * load_g
        here, load_g = place, moment.load_g
    return metres + matrix[here][carrier.end], gram_metres + matrix[here][carrier.end] * load_g
