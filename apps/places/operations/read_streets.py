"""Read an extract that waits, and use its streets from then on if they fit the group."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np
from django.db import transaction

from apps.groups.models import Group, Work
from apps.groups.operations.record_fact import record_fact
from apps.kernel.sentences import Sentence, gettext_noop
from apps.places.core.distance import Point, sphere_m
from apps.places.core.streets.named import pack_names
from apps.places.core.streets.network import pack_network
from apps.places.core.streets.read_extract import Extract, read_extract
from apps.places.core.streets.streets import SNAP_LIMIT, Streets
from apps.places.core.streets.unreadable import UnreadableExtract
from apps.places.models import ExtractState, Place, StreetExtract

_ANOTHER_TOWN = gettext_noop(
    "None of the group's %(places)s places lies within %(limit)s m of a street of this extract; "
    "the nearest is %(away)s km away. It is of another town. Cut one around your own "
    "neighbourhood. Until then ways are measured as before."
)


def read_streets(work: Work, now: datetime | None = None) -> None:
    """The work: its key is the extract's uuid."""
    extract = StreetExtract.objects.of(work.group).filter(uuid=work.key).first()
    if extract is not None:
        read_extract_row(extract, now=now or datetime.now(UTC))


def read_extract_row(extract: StreetExtract, *, now: datetime) -> StreetExtract:
    """Put a waiting extract to use in place of the one before, or note why it cannot be."""
    if extract.state != ExtractState.WAITING or extract.raw is None:
        return extract
    try:
        found = read_extract(bytes(extract.raw))
        _check_fit(extract.group, found)
    except UnreadableExtract as error:
        return _refuse(extract, error.sentence, now)
    return _use(extract, found, now)


def _check_fit(group: Group, found: Extract) -> None:
    """At least one place must reach a street; a group without places takes any."""
    points = [
        Point(float(latitude), float(longitude))
        for latitude, longitude in Place.objects.of(group).values_list("latitude", "longitude")
    ]
    if points and not Streets(found.network, "foot").snap(points).is_on.any():
        raise UnreadableExtract(
            Sentence(
                _ANOTHER_TOWN,
                {
                    "places": len(points),
                    "limit": f"{SNAP_LIMIT.value:g}",
                    "away": _nearest_km(points, found),
                },
            )
        )


def _nearest_km(points: Sequence[Point], found: Extract) -> str:
    """Between the nearest place and the extract's box."""
    south, west, north, east = found.network.box
    edges = [
        Point(min(max(each.latitude, south), north), min(max(each.longitude, west), east))
        for each in points
    ]
    away_km = float(np.diag(sphere_m(points, edges)).min()) / 1000
    return f"{away_km:.1f}" if away_km < 10 else f"{away_km:.0f}"


@transaction.atomic
def _refuse(extract: StreetExtract, why: Sentence, now: datetime) -> StreetExtract:
    extract.state = ExtractState.REFUSED
    extract.refusal, extract.refusal_figures = why.template, dict(why.values)
    extract.raw, extract.read_at = None, now
    extract.save()
    return extract


@transaction.atomic
def _use(extract: StreetExtract, found: Extract, now: datetime) -> StreetExtract:
    StreetExtract.objects.of(extract.group).filter(state=ExtractState.IN_USE).delete()
    extract.state = ExtractState.IN_USE
    extract.raw, extract.read_at = None, now
    extract.network, extract.names = pack_network(found.network), pack_names(found.names)
    extract.walk_m = round(Streets(found.network, "foot").length_m)
    extract.south, extract.west, extract.north, extract.east = found.network.box
    extract.save()
    record_fact(
        extract.group,
        "streets_changed",
        happened_at=now,
        subject_uuid=extract.uuid,
        actor_uuid=extract.sent_by.uuid if extract.sent_by else None,
    )
    return extract
