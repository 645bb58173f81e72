"""The strip and the map of a round."""

from __future__ import annotations

from itertools import pairwise

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.places.core.distance import Point
from apps.places.queries.street_maps import ATTRIBUTION, street_map
from apps.places.queries.way_lengths import way_courses
from apps.rounds.queries.round_problem import travel_mode
from apps.rounds.queries.show_round import ShownRound, ShownStop
from apps.web.charts.plain_map import Link, Spot, draw_map
from apps.web.charts.round_strip import StripStop, draw_round


def round_strip(shown: ShownRound) -> SafeString | None:
    """Stops that are needed, over time."""
    figures, stops = shown.round.figures, _needed(shown)
    if not stops or "depart_s" not in figures:
        return None
    return draw_round(
        [
            StripStop(
                each.stop.number,
                each.stop.arrive_s,
                each.stop.begin_s,
                each.stop.leave_s,
                each.stop.load_g,
                each.stop.locked_s is not None,
            )
            for each in stops
        ],
        depart_s=min(figures["depart_s"], stops[0].stop.arrive_s),
        back_s=max(figures["back_s"], stops[-1].stop.leave_s),
        limit_g=shown.round.carrier.load_limit_g,
        rests=[(each["begin_s"], each["length_s"]) for each in figures["rests"]],
        says=_("Timeline of %(count)s stops with the load on the cart.") % {"count": len(stops)},
    )


def round_map(shown: ShownRound) -> SafeString | None:
    """Each place once, under the number of its first stop, joined in the order of the round."""
    stops = _needed(shown)
    if not stops:
        return None
    spots: list[Spot] = []
    index: dict[int, int] = {}
    for each in stops:
        if each.place.pk not in index:
            index[each.place.pk] = len(spots)
            spots.append(
                Spot(
                    float(each.address.latitude),
                    float(each.address.longitude),
                    "source" if each.is_fetch else "home",
                    each.stop.number,
                )
            )
    order = [index[each.place.pk] for each in stops]
    # From where the stops are shown, not from where they are: an address stays hidden.
    shown_at = [Point(spots[at].latitude, spots[at].longitude) for at in order]
    by = travel_mode(shown.round.carrier)
    courses = way_courses(shown.round.group, shown_at, by=by)
    links = [
        Link(a, b, tuple(course))
        for (a, b), course in zip(pairwise(order), courses, strict=True)
        if a != b
    ]
    found = street_map(shown.round.group)
    return draw_map(
        spots,
        links,
        says=_("Map of the round: %(places)s places.") % {"places": len(spots)},
        streets=found.network() if found else None,
        credit=ATTRIBUTION if found else "",
    )


def _needed(shown: ShownRound) -> list[ShownStop]:
    return [each for each in shown.stops if each.stop.state != "gone"]
