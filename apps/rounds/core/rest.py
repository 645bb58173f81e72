"""The rest of a round that is under way: what is done stays done."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from apps.rounds.core.problem import (
    TWO_DAYS_S,
    Carrier,
    Errand,
    RoundError,
    Rounds,
    Side,
    Visit,
    Window,
)


def rest_of(
    rounds: Rounds,
    carrier_code: str,
    done: Collection[Visit],
    *,
    at_place: int,
    now_s: int,
    given_up: Collection[str] = (),
) -> Rounds:
    """The problem that remains to one carrier who stands at `at_place` at `now_s`.

    `done`: visits that are facts; what was fetched and not brought is on the cart, and its home
    takes it however late. `given_up`: errands that will not happen. Raises `RoundError`
    when something was brought that nobody fetched.
    """
    carrier = rounds.carrier[carrier_code]
    fetched = {each.errand for each in done if each.side is Side.FETCH}
    brought = {each.errand for each in done if each.side is Side.BRING}
    from_start = {each.code for each in rounds.errands if each.fetch is None}
    if loose := sorted(brought - fetched - from_start):
        raise RoundError(f"{loose[0]} was brought before it was fetched. Note the fetching first.")
    over = brought | set(given_up)
    errands = [
        _on_cart(each, carrier) if each.code in fetched else each
        for each in rounds.errands
        if each.code not in over
        and each.carrier in (None, carrier_code)
        and (each.bring is not None or each.code not in fetched)
    ]
    till_s = max(now_s, carrier.shift.till_s)
    breaks = tuple(each for each in carrier.breaks if each.window.till_s >= now_s)
    kept_g = sum(
        each.amount_g for each in rounds.errands if each.code in fetched and each.bring is None
    )
    later = replace(
        carrier,
        start=at_place,
        shift=Window(now_s, till_s),
        breaks=breaks,
        load_limit_g=max(1, carrier.load_limit_g - kept_g),
    )
    if at_place in carrier.avoids:
        later = replace(later, avoids=carrier.avoids - {at_place})
    return Rounds(tuple(errands), (later,), rounds.ways)


def _on_cart(errand: Errand, carrier: Carrier) -> Errand:
    bring = errand.end(Side.BRING)
    window = bring.window
    later = Window(window.from_s, max(window.till_s, TWO_DAYS_S))
    return replace(errand, fetch=None, bring=replace(bring, window=later), carrier=carrier.code)
