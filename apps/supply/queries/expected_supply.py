"""What every stream is expected to have on each of the next days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from apps.feedstock.core.materials import Material as KnownMaterial
from apps.feedstock.queries.known_materials import known_materials
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.ledger.queries.grams_per_day import collected_per_day
from apps.places.queries.shut_days import shut_days
from apps.supply.core.day_effects import DayEffect, unusual_days
from apps.supply.core.forecast import (
    WINDOW_WEEKS,
    DeclaredPattern,
    Forecast,
    Learnt,
    Past,
    Weight,
    learn,
)
from apps.supply.core.holding import shelf_life_days
from apps.supply.core.kind_average import KindAverage, Known, average_kind
from apps.supply.models import Offer, Stream
from apps.supply.queries.calendar import day_effects
from apps.supply.queries.kept_offers import Kept, kept_offers

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


def expected_supply(
    group: Group, first_on: date, days: int, effects: Sequence[DayEffect] | None = None
) -> list[Expected]:
    """By stream code and day. Nine queries, however many rows.

    An offer replaces the forecast, 0 included; days on which the place is shut, everybody away
    or the calendar says so have none. What is learnt from is what the sources themselves said
    they had, or the weight collected where that was more: in a glut the weight collected alone
    tells what the homes could take, not what there was. Who came in vain tells that there was
    nothing, and how far a source's word goes is learnt from what was found of it. `effects`: the
    group's calendar, read when it is not given.
    """
    span = list(days_from(first_on, days))
    offers_g = _offers_g(group, _since(first_on), first_on + timedelta(days=days - 1))
    known = known_materials(group)
    return [
        Expected(
            stream=stream,
            on=on,
            forecast=learnt.forecast(on, offers_g.get((stream.pk, on))),
            collect_by_on=on + timedelta(days=stream.kept_days),
            feed_by_on=on
            + timedelta(days=shelf_days(group, stream, known[stream.material.code], on)),
        )
        for stream, learnt in learnt_streams(group, first_on, days, effects, offers_g)
        for on in span
    ]


def learnt_streams(
    group: Group,
    first_on: date,
    days: int,
    effects: Sequence[DayEffect] | None = None,
    offers_g: Mapping[tuple[int, date], int] | None = None,
) -> list[tuple[Stream, Learnt]]:
    """Every active stream with what its past tells about `days` days from `first_on`, by code.
    `effects` and `offers_g`, those of the past included, are read when they are not given."""
    streams = list(
        Stream.objects.of(group)
        .filter(is_active=True, source__is_active=True)
        .select_related("source__place", "source__contact", "material")
        .order_by("code")
    )
    since_on = _since(first_on)
    last_on = first_on + timedelta(days=days - 1)
    span = list(days_from(since_on, (last_on - since_on).days + 1))
    offers_g = _offers_g(group, since_on, last_on) if offers_g is None else offers_g
    kept = {
        key: (planned_g, found_g)
        for key, (planned_g, found_g) in kept_offers(group, since_on, first_on).items()
        if planned_g and key in offers_g
    }
    history = _history(group, streams, offers_g, kept, since_on, first_on)
    kept_shares = _kept_shares(streams, kept)
    shut = shut_days(group, since_on, len(span))
    effects = day_effects(group) if effects is None else effects
    percents = {
        kind: unusual_days(effects, kind, span)
        for kind in {stream.source.kind for stream in streams}
    }
    kinds = _kinds(streams, history)
    return [
        (
            stream,
            learn(
                Past(
                    declared=_declared(stream),
                    weights=history[stream.pk],
                    away_on=shut.get(stream.source.place_id, frozenset()),
                    percents=percents[stream.source.kind],
                    since_on=stream.learnt_since_on,
                    kept_shares=kept_shares[stream.pk],
                    kind=None if history[stream.pk] else kinds.get(stream.source.kind),
                ),
                first_on,
            ),
        )
        for stream in streams
    ]


KNOWN_FROM = 28
"""Weights from which a stream counts to the average of its kind. Assumed."""


def _kinds(streams: list[Stream], history: Mapping[int, list[Weight]]) -> dict[str, KindAverage]:
    """The average of each kind of source, from its streams with a past."""
    known: dict[str, list[Known]] = defaultdict(list)
    for stream in streams:
        weights = history[stream.pk]
        if len(weights) < KNOWN_FROM:
            continue
        by_weekday: list[list[int]] = [[] for _ in range(7)]
        for weight in weights:
            by_weekday[weight.on.weekday()].append(weight.amount_g)
        had_g = [fmean(each) if each else 0.0 for each in by_weekday]
        known[stream.source.kind].append(
            Known(stream.weekday_g, had_g, stream.spread_percent / 100)
        )
    averages = {kind: average_kind(each) for kind, each in known.items()}
    return {kind: average for kind, average in averages.items() if average is not None}


def _declared(stream: Stream) -> DeclaredPattern:
    return DeclaredPattern(stream.weekday_g, stream.spread_percent / 100)  # type: ignore[arg-type]


def shelf_days(group: Group, stream: Stream, known: KnownMaterial, on: date) -> int:
    """Days after `on` by which it must be fed: what the stream says, else by how the material
    keeps at the warmest hour of that month."""
    if stream.feed_within_days is not None:
        return stream.feed_within_days
    normals_c = group.air_normals_c
    warmest_c = normals_c[on.month - 1] + DAY_OVER_MEAN_K if normals_c else UNKNOWN_AIR_C
    return shelf_life_days(known.holding, warmest_c, known.groups)


def _since(first_on: date) -> date:
    return first_on - timedelta(weeks=WINDOW_WEEKS)


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
    kept: Kept,
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
        if kept.get((stream_id, on), (0, 1))[1] == 0:
            history[stream_id].append(Weight(on, 0))
            continue
        key = stream.source.account_id, stream.material_id
        # Two streams of one material cannot be told apart in the ledger.
        weighed_g = collected.get((*key, on), 0) if sharing[key] == 1 else 0
        history[stream_id].append(Weight(on, max(offered_g, weighed_g)))
    return history


def _kept_shares(streams: list[Stream], kept: Kept) -> dict[int, list[float]]:
    """By stream, what was found of each offer that somebody came for, since it changed hands."""
    since = {stream.pk: stream.learnt_since_on for stream in streams}
    shares: dict[int, list[float]] = defaultdict(list)
    for (stream_id, on), (planned_g, found_g) in kept.items():
        first_on = since.get(stream_id)
        if first_on is None or on >= first_on:
            shares[stream_id].append(found_g / planned_g)
    return shares
