"""What every stream is expected to have on each of the next days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from apps.feedstock.core.materials import Material as KnownMaterial
from apps.feedstock.queries.known_materials import known_materials
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.ledger.queries.grams_per_day import collected_per_day
from apps.places.queries.shut_days import shut_days
from apps.supply.core.forecast import (
    WINDOW_WEEKS,
    DeclaredPattern,
    Forecast,
    Weight,
    forecast_day,
)
from apps.supply.core.holding import shelf_life_days
from apps.supply.models import Offer, Stream

DAY_OVER_MEAN_K = 5.0
"""Warmest hour of a day over the mean of its month. Assumed."""

UNKNOWN_AIR_C = 28.0
"""Where a place's temperatures are not known: warm, so that nothing waits too long. Assumed."""


@dataclass(frozen=True, slots=True)
class Expected:
    """One stream on one day: its forecast or offer [g], the last day on which the source still
    has it, and the last day on which it may be fed if collected the day it arose."""

    stream: Stream
    on: date
    forecast: Forecast
    collect_by_on: date
    feed_by_on: date


def expected_supply(group: Group, first_on: date, days: int) -> list[Expected]:
    """By stream code and day. Seven queries, however many rows.

    An offer replaces the forecast, 0 included; days on which the place is shut or everybody
    away have none. What is learnt from is what the sources themselves said they had, or the
    weight collected where that was more: in a glut the weight collected alone tells what the
    homes could take, not what there was.
    """
    streams = list(
        Stream.objects.of(group)
        .filter(is_active=True, source__is_active=True)
        .select_related("source__place", "source__contact", "material")
        .order_by("code")
    )
    since_on = first_on - timedelta(weeks=WINDOW_WEEKS)
    last_on = first_on + timedelta(days=days - 1)
    offers_g = _offers_g(group, since_on, last_on)
    history = _history(group, streams, offers_g, since_on, first_on)
    shut = shut_days(group, since_on, (last_on - since_on).days + 1)
    known = known_materials(group)
    return [
        _expected(group, stream, on, known, history[stream.pk], shut, offers_g)
        for stream in streams
        for on in days_from(first_on, days)
    ]


def shelf_days(group: Group, stream: Stream, known: KnownMaterial, on: date) -> int:
    """Days after `on` by which it must be fed: what the stream says, else by how the material
    keeps at the warmest hour of that month."""
    if stream.feed_within_days is not None:
        return stream.feed_within_days
    normals_c = group.air_normals_c
    warmest_c = normals_c[on.month - 1] + DAY_OVER_MEAN_K if normals_c else UNKNOWN_AIR_C
    return shelf_life_days(known.holding, warmest_c, known.groups)


def _expected(
    group: Group,
    stream: Stream,
    on: date,
    known: Mapping[str, KnownMaterial],
    history: list[Weight],
    shut: Mapping[int, set[date]],
    offers_g: Mapping[tuple[int, date], int],
) -> Expected:
    forecast = forecast_day(
        on,
        DeclaredPattern(stream.weekday_g, stream.spread_percent / 100),  # type: ignore[arg-type]
        history,
        shut.get(stream.source.place_id, frozenset()),
        offers_g.get((stream.pk, on)),
    )
    return Expected(
        stream=stream,
        on=on,
        forecast=forecast,
        collect_by_on=on + timedelta(days=stream.kept_days),
        feed_by_on=on + timedelta(days=shelf_days(group, stream, known[stream.material.code], on)),
    )


def _offers_g(group: Group, first_on: date, last_on: date) -> dict[tuple[int, date], int]:
    rows = Offer.objects.of(group).filter(on__range=(first_on, last_on))
    return {
        (stream_id, on): amount_g
        for stream_id, on, amount_g in rows.values_list("stream_id", "on", "amount_g")
    }


def _history(
    group: Group,
    streams: list[Stream],
    offers_g: Mapping[tuple[int, date], int],
    since_on: date,
    first_on: date,
) -> dict[int, list[Weight]]:
    collected = collected_per_day(group, since_on, first_on - timedelta(days=1))
    sharing: dict[tuple[int, int], int] = defaultdict(int)
    for stream in streams:
        sharing[stream.source.account_id, stream.material_id] += 1
    by_id = {stream.pk: stream for stream in streams}
    history: dict[int, list[Weight]] = defaultdict(list)
    for (stream_id, on), offered_g in offers_g.items():
        stream = by_id.get(stream_id)
        if stream is None or on >= first_on:
            continue
        key = stream.source.account_id, stream.material_id
        # Two streams of one material cannot be told apart in the ledger.
        weighed_g = collected.get((*key, on), 0) if sharing[key] == 1 else 0
        history[stream_id].append(Weight(on, max(offered_g, weighed_g)))
    return history
