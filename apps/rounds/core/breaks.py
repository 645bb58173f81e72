"""Breaks, for an engine that knows none: time that does not exist.

A break of `length_s` that begins at some moment is cut out of the clock: what is later moves
forward by its length. On the shorter clock one carrier's errands are searched as usual; several
moments within the break's window are tried. `schedule.timing` then puts the break back in, and
what cannot be done after all is taken out, least valuable first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise, product

from apps.rounds.core.engine import Effort, search
from apps.rounds.core.problem import Carrier, End, Rounds, Tour, Window
from apps.rounds.core.schedule import Rule, timing

MOST_TRIED = 9
"""Combinations of moments tried for one carrier."""


def search_with_breaks(
    rounds: Rounds, effort: Effort, start_from: Sequence[Tour] = ()
) -> tuple[Tour, ...]:
    """`engine.search`, and the breaks of each carrier kept."""
    if not any(carrier.breaks for carrier in rounds.carriers):
        return _sound(rounds, search(rounds, effort, start_from))
    shortened = replace(rounds, carriers=tuple(_shortened(each) for each in rounds.carriers))
    tours = []
    for tour in search(shortened, effort, start_from):
        carrier = rounds.carrier[tour.carrier]
        tours.append(_own_tour(rounds, carrier, tour, effort) if carrier.breaks else tour)
    return _sound(rounds, tours)


def _shortened(carrier: Carrier) -> Carrier:
    """The same carrier with so much less time, for sharing the errands out."""
    lost_s = sum(each.length_s for each in carrier.breaks)
    till_s = max(carrier.shift.from_s, carrier.shift.till_s - lost_s)
    return replace(carrier, breaks=(), shift=Window(carrier.shift.from_s, till_s))


def _own_tour(rounds: Rounds, carrier: Carrier, tour: Tour, effort: Effort) -> Tour:
    """The best order of the same errands around the breaks; the tour itself is one of those
    compared."""
    codes = set(tour.codes())
    mine = tuple(
        each if each.value is not None else replace(each, value=_must(rounds))
        for each in rounds.errands
        if each.code in codes
    )
    tried = [_sound_tour(rounds, tour)]
    for moments in _moments(carrier):
        cut = _cut(Rounds(mine, (carrier,), rounds.ways), moments)
        if cut is not None:
            tried += [_sound_tour(rounds, found) for found in search(cut, effort)]
    return max(tried, key=lambda each: _worth(rounds, carrier, each))


def _must(rounds: Rounds) -> int:
    return 1 + sum(each.value or 0 for each in rounds.errands)


def _worth(rounds: Rounds, carrier: Carrier, tour: Tour) -> tuple[int, int]:
    done = [rounds.errand[code] for code in tour.codes()]
    value = sum(each.value or 0 for each in done)
    return sum(each.value is None for each in done), value - timing(rounds, tour).cost(carrier)


def _moments(carrier: Carrier) -> Iterator[tuple[int, ...]]:
    """Begin each break at the beginning, the middle or the end of its window."""
    choices = [
        sorted({w.from_s, (w.from_s + w.till_s) // 2, w.till_s})
        for w in (each.window for each in carrier.breaks)
    ]
    for number, moments in enumerate(product(*choices)):
        if number == MOST_TRIED:
            return
        yield moments


def _cut(rounds: Rounds, moments: Sequence[int]) -> Rounds | None:
    """The one-carrier problem on the clock without the breaks; None where they do not fit."""
    [carrier] = rounds.carriers
    spans = [(at, at + rest.length_s) for at, rest in zip(moments, carrier.breaks, strict=True)]
    if any(later[0] < earlier[1] for earlier, later in pairwise(spans)):
        return None

    def short(at_s: int) -> int:
        return at_s - sum(min(max(at_s - begin, 0), end - begin) for begin, end in spans)

    def window(given: Window) -> Window:
        return Window(short(given.from_s), short(given.till_s))

    def end(given: End) -> End:
        return replace(given, window=window(given.window))

    errands = tuple(
        replace(each, fetch=each.fetch and end(each.fetch), bring=each.bring and end(each.bring))
        for each in rounds.errands
    )
    return Rounds(errands, (replace(carrier, breaks=(), shift=window(carrier.shift)),), rounds.ways)


def _sound(rounds: Rounds, tours: Sequence[Tour]) -> tuple[Tour, ...]:
    sound = [_sound_tour(rounds, tour) for tour in tours]
    return tuple(tour for tour in sound if tour.visits)


def _sound_tour(rounds: Rounds, tour: Tour) -> Tour:
    """The tour without the errands that make it break a limit, one after the other. What is on
    the cart already stays: it must be brought, even late."""
    while _is_broken(rounds, tour):
        fewer = [
            without(tour, code) for code in tour.codes() if rounds.errand[code].fetch is not None
        ]
        if not fewer:
            return tour
        tour = min(fewer, key=partial(_hurt, rounds, tour))
    return tour


def _is_broken(rounds: Rounds, tour: Tour) -> bool:
    return any(breach.rule is not Rule.ORDER for breach in timing(rounds, tour).breaches)


def _hurt(rounds: Rounds, before: Tour, after: Tour) -> tuple[int, int]:
    """What is still broken, and the value of what was taken out."""
    broken = sum(breach.by or 1 for breach in timing(rounds, after).breaches)
    kept = set(after.codes())
    must = _must(rounds)
    lost = (rounds.errand[code].value for code in before.codes() if code not in kept)
    return broken, sum(must if value is None else value for value in lost)


def without(tour: Tour, code: str) -> Tour:
    """The tour without one errand."""
    return replace(tour, visits=tuple(each for each in tour.visits if each.errand != code))
