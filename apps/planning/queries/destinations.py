"""Where what nobody feeds goes: a named place up to its capacity, or it stays with the source."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from apps.places.core.distance import Point, geodesic_m
from apps.places.models import Place
from apps.planning.core.result import Result
from apps.planning.queries.build_problem import Built
from apps.supply.models import Destination


def place_left_over(built: Built, result: Result) -> dict[str, Destination]:
    """The destination of each batch left over; absent: it stays with the source.

    On the day it can last be collected each batch goes whole to the nearest destination with
    room for it; large batches first, so that few sources are left with theirs.
    """
    destinations = list(
        Destination.objects.of(built.group)
        .filter(is_active=True)
        .select_related("place")
        .order_by("code")
    )
    room: dict[tuple[int, date], int] = defaultdict(int)
    placed: dict[str, Destination] = {}
    left = [each for each in result.left_over if each.batch in built.batches]
    for each in sorted(left, key=lambda each: (-each.amount_g, each.batch)):
        row = built.batches[each.batch]
        on = min(row.collect_by_on, row.feed_by_on)
        here = _point(built.sources[row.stream.source.code].place)
        for destination in sorted(
            destinations, key=lambda there: (geodesic_m(here, _point(there.place)), there.code)
        ):
            if room[destination.pk, on] + each.amount_g <= destination.capacity_g_per_day:
                room[destination.pk, on] += each.amount_g
                placed[each.batch] = destination
                break
    return placed


def _point(place: Place) -> Point:
    return Point(float(place.latitude), float(place.longitude))
