"""Which of a group's places its streets do not reach."""

from __future__ import annotations

from apps.groups.models import Group
from apps.places.core.distance import Point
from apps.places.core.streets.tags import MODES, Mode
from apps.places.models import Place
from apps.places.queries.street_maps import street_map


def places_off_streets(group: Group) -> list[tuple[Place, tuple[Mode, ...]]]:
    """Places farther than `SNAP_LIMIT` from the streets of a mode, by code, with those modes;
    empty when the group has no streets."""
    streets = street_map(group)
    if streets is None:
        return []
    places = list(Place.objects.of(group).order_by("code"))
    points = [Point(float(place.latitude), float(place.longitude)) for place in places]
    on = {mode: streets.streets(mode).snap(points).is_on for mode in MODES}
    return [
        (place, off)
        for index, place in enumerate(places)
        if (off := tuple(mode for mode in MODES if not on[mode][index]))
    ]
