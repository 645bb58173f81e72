"""A group's places for what nobody feeds, as the planner sees them."""

from __future__ import annotations

from apps.groups.models import Group
from apps.places.core.distance import Point, way_m
from apps.places.models import Place
from apps.planning.core.destinations import Destination as CoreDestination
from apps.planning.queries.build_problem import Built
from apps.supply.models import Destination


def group_destinations(group: Group) -> dict[str, Destination]:
    """Those in use, by code: one query."""
    rows = Destination.objects.of(group).filter(is_active=True).select_related("place")
    return {row.code: row for row in rows.order_by("code")}


def core_destinations(built: Built, destinations: dict[str, Destination]) -> list[CoreDestination]:
    """With the way from every source; a source brings its left-over there however far it is."""
    detour = built.group.detour_ppm / 1_000_000
    return [
        CoreDestination(
            code=code,
            name=row.name,
            capacity_g_per_day=row.capacity_g_per_day,
            distance_m={
                source.code: way_m(_point(source.place), _point(row.place), detour)
                for source in built.sources.values()
            },
        )
        for code, row in destinations.items()
    ]


def _point(place: Place) -> Point:
    return Point(float(place.latitude), float(place.longitude))
