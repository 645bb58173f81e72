"""From an answer in kilograms to a plan in whole grams that keeps every limit exactly.

What the rounding takes off is topped up again where there is room; a visit that falls under
the smallest pickup is dropped, and so is a part of a batch too small to be worth a line. Then
nobody is left to weigh a few grams of a material on a day.
"""

from __future__ import annotations

from apps.planning.core.booking import Booking
from apps.planning.core.flow_columns import PartKey
from apps.planning.core.gram_flows import Flow
from apps.planning.core.model import Floats, Model
from apps.planning.core.problem import PPM, Placement
from apps.planning.core.result import Feed
from apps.planning.core.small_parts import drop_small_parts, drop_small_visits
from apps.planning.core.small_portions import settle_portions


def round_to_grams(model: Model, x: Floats) -> tuple[tuple[Placement, ...], tuple[Feed, ...]]:
    """Placements and feeds of the columns `x` of a model, exact in whole grams."""
    booking = Booking(model, x)
    for flow in booking.stock_flows:
        booking.book(flow, min(flow.wanted_mg // 1000, booking.room(flow, shares=False)))
    for key in sorted(booking.parts, key=lambda key: (key not in booking.pinned, key)):
        _book_part(booking, key)
    _repair(booking)
    _top_up(booking, only_fed=True)
    _top_up(booking, only_fed=False)
    _repair(booking)
    if settle_portions(booking):
        _top_up(booking, only_fed=True)
    return booking.result()


def _book_part(booking: Booking, key: PartKey) -> None:
    flows = booking.parts[key]
    batch = booking.problem.batches[key[0]]
    total_mg = sum(flow.wanted_mg for flow in flows)
    if key in booking.exact:
        total = booking.exact[key]
    elif batch.divisible:
        total = (total_mg + 10) // 1000
    else:
        total = batch.amount_g if total_mg >= 500 * batch.amount_g else 0
    left = total
    for flow in flows:
        grams = min((flow.wanted_mg + 10) // 1000, left, booking.room(flow, shares=False))
        booking.book(flow, grams)
        left -= grams
    for flow in flows:
        grams = min(left, booking.room(flow, shares=False))
        booking.book(flow, grams)
        left -= grams
    if left and not batch.divisible and key not in booking.pinned:
        booking.drop(key)


def _top_up(booking: Booking, *, only_fed: bool) -> None:
    """Gives parts and stock what there is room for; `only_fed`: only on days on which they are
    fed already."""
    loose = [
        flow
        for key in sorted(booking.parts)
        if key not in booking.pinned
        and booking.problem.batches[key[0]].divisible
        and booking.part_g(key)
        for flow in booking.parts[key]
    ]
    for flow in [*loose, *booking.stock_flows]:
        if flow.amount_g or not only_fed:
            booking.book(flow, booking.room(flow, shares=True))


def _repair(booking: Booking) -> None:
    """Shares first, then what became too small; all only ever take away or fill up."""
    while _trim_shares(booking) or drop_small_visits(booking) or drop_small_parts(booking):
        pass


def _trim_shares(booking: Booking) -> bool:
    trimmed = False
    over = [key for key, room in sorted(booking.shares.items()) if room < 0]
    for h, c, day in over:
        group = booking.problem.digesters[h].share_caps[c].group
        members = [
            (key, flow)
            for key in sorted(booking.parts)
            if key[1] == h
            for flow in booking.parts[key]
            if flow.feed_day == day and flow.amount_g and group in flow.groups
        ]
        members.sort(key=lambda item: item[0] in booking.pinned)
        for flow in booking.stock_flows:
            fed = flow.digester == h and flow.feed_day == day and flow.amount_g
            if fed and group in flow.groups:
                trimmed |= _trim(booking, flow, c)
        for key, flow in members:
            if booking.shares[h, c, day] >= 0 or key in booking.pinned:
                break
            if not booking.problem.batches[key[0]].divisible:
                booking.drop(key)
                trimmed = True
            else:
                trimmed |= _trim(booking, flow, c)
    return trimmed


def _trim(booking: Booking, flow: Flow, c: int) -> bool:
    cap = booking.problem.digesters[flow.digester].share_caps[c]
    unit = (flow.vs if cap.basis == "vs" else flow.usable) * (PPM - cap.share_ppm)
    missing = -booking.shares[flow.digester, c, flow.feed_day]
    if missing <= 0 or unit <= 0:
        return False
    grams = min(flow.amount_g, -(-missing // unit))
    booking.book(flow, -grams)
    return grams > 0
