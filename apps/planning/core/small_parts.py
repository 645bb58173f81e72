"""Parts of batches too small to be worth a line, and pickups too small to be worth a walk:
filled up, or else dropped."""

from __future__ import annotations

from collections import defaultdict

from apps.planning.core.booking import Booking
from apps.planning.core.flow_columns import PartKey
from apps.planning.core.gram_flows import Flow


def drop_small_visits(booking: Booking) -> bool:
    """Pickups under the smallest; True if any was dropped."""
    by_visit: dict[tuple[int, int, int], list[PartKey]] = defaultdict(list)
    for key in sorted(booking.parts):
        if booking.part_g(key):
            by_visit[booking.visit_of(key)].append(key)
    dropped = False
    for visit, keys in by_visit.items():
        if any(not booking.problem.batches[k[0]].divisible or k in booking.pinned for k in keys):
            continue
        least_g = booking.problem.digesters[visit[1]].min_pickup_g
        for flow in [flow for key in keys for flow in booking.parts[key]]:
            if booking.visit_g[visit] < least_g:
                booking.book(flow, booking.room(flow, shares=True))
        if booking.visit_g[visit] < least_g:
            for key in keys:
                booking.drop(key)
            dropped = True
    return dropped


def drop_small_parts(booking: Booking) -> bool:
    """Parts of batches under the smallest worthwhile one: filled up from what is left or from
    the batch's other parts that can spare it, or else given to these. True if any was."""
    dropped = False
    by_batch: dict[int, list[PartKey]] = defaultdict(list)
    for key in sorted(booking.parts):
        if booking.part_g(key):
            by_batch[key[0]].append(key)
    for keys in by_batch.values():
        for key in keys:
            too_small = 0 < booking.part_g(key) < booking.least_part_g(key)
            if key in booking.pinned or not too_small or _fill(booking, key, keys):
                continue
            booking.drop(key)
            for other in keys:
                if other not in booking.exact and booking.part_g(other):
                    booking.add_to(other, booking.problem.batches[key[0]].amount_g)
            dropped = True
    return dropped


def _fill(booking: Booking, key: PartKey, keys: list[PartKey]) -> bool:
    """Whether the part reaches the least; else all is as it was, but the part gone."""
    taken: list[tuple[Flow, int]] = []
    missing_g = booking.least_part_g(key) - booking.part_g(key)
    spare_g = booking.batch_left[key[0]]
    for other in keys:
        spare = booking.part_g(other) - booking.least_part_g(other)
        least_g = booking.problem.digesters[other[1]].min_pickup_g
        spare = min(spare, booking.visit_g[booking.visit_of(other)] - least_g)
        if other == key or other in booking.pinned or spare_g >= missing_g or spare <= 0:
            continue
        for flow in booking.parts[other]:
            grams = min(flow.amount_g, spare, missing_g - spare_g)
            if grams > 0:
                booking.book(flow, -grams)
                taken.append((flow, grams))
                spare -= grams
                spare_g += grams
    if booking.add_to(key, missing_g) == missing_g:
        return True
    booking.drop(key)
    for flow, grams in taken:
        booking.book(flow, grams)
    return False
