"""The group's neighbourhood as a rehearsal sees it."""

from __future__ import annotations

import math
from collections import defaultdict

from apps.digesters.models import Digester
from apps.digesters.models.digester import OwnWaste, StageName
from apps.feedstock.queries.known_materials import known_materials
from apps.groups.models import Group
from apps.places.models import Absence, Place
from apps.rehearsal.core.neighbourhood import (
    HARBOUR_AIR_C,
    Away,
    GivenHome,
    GivenSource,
    Neighbourhood,
)
from apps.rehearsal.core.supply import GivenStream
from apps.supply.models import Stream
from apps.supply.queries.calendar import day_effects
from apps.supply.queries.expected_supply import shelf_days

METRES_PER_DEGREE = 111_320.0
"""Of latitude; a neighbourhood is small enough for a plane."""


def read_neighbourhood(group: Group) -> Neighbourhood:
    """Digesters with a plate and active streams, with places in metres on a plane. Where the
    group has not said its air, a warm harbour town's is taken."""
    places = {place.pk: place for place in Place.objects.of(group)}
    here = min((float(place.latitude) for place in places.values()), default=0.0)
    own_g: dict[int, int] = defaultdict(int)
    for row in OwnWaste.objects.of(group):
        own_g[row.digester_id] += row.amount_g_per_day
    digesters = list(
        Digester.objects.of(group)
        .exclude(stage=StageName.CLOSED)
        .filter(rated_feed_g__gt=0, rated_slurry_ml__gt=0)
        .select_related("household")
        .order_by("code")
    )
    streams = list(
        Stream.objects.of(group)
        .filter(is_active=True, source__is_active=True)
        .select_related("source", "material")
        .order_by("code")
    )
    known = known_materials(group)
    today = min((each.stage_since_on for each in digesters), default=None)
    sources = {stream.source_id: stream.source for stream in streams}
    home_of = {each.place_id: each.code for each in digesters}
    return Neighbourhood(
        name=group.name,
        homes=tuple(_home(each, places[each.place_id], here, own_g[each.pk]) for each in digesters),
        sources=tuple(
            GivenSource(each.code, *on_plane(places[each.place_id], here), each.max_homes_per_day)
            for each in sorted(sources.values(), key=lambda each: each.code)
        ),
        streams=tuple(
            GivenStream(
                each.code, each.source.code, each.source.kind, each.material.code,
                each.weekday_g, each.spread_percent / 100, each.kept_days,
                0 if today is None else shelf_days(group, each, known[each.material.code], today),
                each.is_divisible,
            )
            for each in streams
        ),
        effects=tuple(day_effects(group)),
        air_normals_c=tuple(group.air_normals_c) or HARBOUR_AIR_C,
        reach_m=group.reach_m,
        detour=group.detour_ppm / 1_000_000,
        away=tuple(
            Away(home_of[each.place_id], each.first_on, each.last_on)
            for each in Absence.objects.of(group).filter(keyholder=None).order_by("first_on")
            if each.place_id in home_of
        ),
        rota_limit_days=group.rota_limit_days,
    )  # fmt: skip


def on_plane(place: Place, south: float) -> tuple[float, float]:
    """Metres east of Greenwich and north of `south` [degrees] on a flat map."""
    east = float(place.longitude) * METRES_PER_DEGREE * math.cos(math.radians(south))
    return east, (float(place.latitude) - south) * METRES_PER_DEGREE


def _home(digester: Digester, place: Place, south: float, own_g: int) -> GivenHome:
    household = digester.household
    return GivenHome(
        digester.code,
        *on_plane(place, south),
        digester.working_volume_ml,
        digester.rated_feed_g,
        digester.rated_slurry_ml,
        own_g,
        digester.bin_g,
        digester.max_visits_per_day,
        household.carry_limit_g if household else 15_000,
        digester.min_pickup_g,
    )
