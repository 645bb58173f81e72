"""An address service on the network, where the installation has set one; off by default, since
it tells others which addresses a group is looking for."""

from __future__ import annotations

import logging

from django.conf import settings
from geopy.exc import GeopyError
from geopy.geocoders import get_geocoder_for_service

from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.places.core.distance import Point, geodesic_m
from apps.places.core.found_spot import FoundSpot, kept_degrees

TIMEOUT_S = 5
FARTHEST_M = 50_000
"""What an address service finds farther from the group than this is another place of that name.
Assumed."""

logger = logging.getLogger(__name__)


class NoAnswer(Refused):
    """The service is away; nothing is lost."""

    code = "address_service_away"
    status = 503


def look_up_online(text: str, *, near: Point | None, limit: int) -> list[FoundSpot]:
    """What the geopy geocoder of `settings.GEOCODER` finds near the group; nothing without one."""
    if not settings.GEOCODER:
        return []
    try:
        service = get_geocoder_for_service(settings.GEOCODER)(**settings.GEOCODER_OPTIONS)
        found = service.geocode(text, exactly_one=False, timeout=TIMEOUT_S) or []
    except GeopyError as error:
        logger.warning("The address service did not answer: %s", error)
        raise NoAnswer(
            gettext_noop("The address service does not answer. Put the pin by hand, or try later."),
            field="text",
        ) from error
    spots = []
    for each in found:
        point = Point(each.latitude, each.longitude)
        if near is None or geodesic_m(near, point) <= FARTHEST_M:
            spots.append(
                FoundSpot(
                    str(each.address)[:200],
                    kept_degrees(point.latitude),
                    kept_degrees(point.longitude),
                    False,
                )
            )
    return spots[:limit]
