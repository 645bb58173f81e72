"""A group's places for what nobody feeds, as the planner sees them."""

from __future__ import annotations

from apps.groups.models import Group
from apps.places.queries.way_lengths import way_lengths_m
from apps.planning.core.destinations import Destination as CoreDestination
from apps.planning.queries.build_problem import Built
from apps.supply.models import Destination


def group_destinations(group: Group) -> dict[str, Destination]:
    """Those in use, by code: one query."""
    rows = Destination.objects.of(group).filter(is_active=True).select_related("place")
    return {row.code: row for row in rows.order_by("code")}


def core_destinations(built: Built, destinations: dict[str, Destination]) -> list[CoreDestination]:
    """With the way from every source; a source brings its left-over there however far it is."""
    sources, yards = list(built.sources.values()), list(destinations.values())
    ways = way_lengths_m(
        built.group, [each.place for each in sources], [each.place for each in yards]
    ).metres
    return [
        CoreDestination(
            code=code,
            name=row.name,
            capacity_g_per_day=row.capacity_g_per_day,
            distance_m={
                source.code: int(metres)
                for source, metres in zip(sources, ways[:, column], strict=True)
            },
        )
        for column, (code, row) in enumerate(destinations.items())
    ]
