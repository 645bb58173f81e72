"""One answer for several carriers, taken apart: each carrier's own, as if they had been asked
alone for what they do and for what nobody does. Pure."""

from __future__ import annotations

from dataclasses import replace

from apps.rounds.core.answer import Answer
from apps.rounds.core.problem import Rounds, Tour
from apps.rounds.core.schedule import timing
from apps.rounds.core.why_left import why_left


def apart(answer: Answer) -> dict[str, Answer]:
    """By carrier's code, also of those who stay at home. What nobody does is left out of each,
    with the reason that counts for that carrier; what is bound to another is not asked of them."""
    rounds = answer.rounds
    nobody = {each.errand for each in answer.left}
    tours = {timed.carrier: timed for timed in answer.tours}
    found = {}
    for carrier in rounds.carriers:
        timed = tours.get(carrier.code)
        visits = tuple(moment.visit for moment in timed.moments) if timed else ()
        own = {visit.errand for visit in visits}
        free = {each for each in nobody if rounds.errand[each].carrier in (None, carrier.code)}
        alone = Rounds(
            tuple(each for each in rounds.errands if each.code in own | free),
            (replace(carrier, ways=0),),
            (rounds.ways[carrier.ways],),
        )
        if visits and not free:
            alone = rested_at_home(alone, Tour(carrier.code, visits))
        out = (timing(alone, Tour(carrier.code, visits)),) if visits else ()
        left = tuple(why_left(alone, out, alone.errand[code]) for code in sorted(free))
        found[carrier.code] = Answer(alone, out, left)
    return found


def rested_at_home(alone: Rounds, tour: Tour) -> Rounds:
    """Without the rests that the one carrier can take before setting out or after coming back:
    nobody sets out in order to rest."""
    [carrier] = alone.carriers
    for rest in carrier.breaks:
        fewer = replace(carrier, breaks=tuple(each for each in carrier.breaks if each != rest))
        without = Rounds(alone.errands, (fewer,), alone.ways)
        timed = timing(without, tour)
        is_before = timed.depart_s >= rest.window.from_s + rest.length_s
        if not timed.breaches and (is_before or timed.back_s <= rest.window.till_s):
            carrier, alone = fewer, without
    return alone
