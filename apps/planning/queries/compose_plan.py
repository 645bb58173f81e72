"""A solved problem as a document and as the rows of a plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.core.day_limits import Limit
from apps.digesters.core.facts import TYPICAL_SLURRY_PPM, TYPICAL_VS_PPM
from apps.digesters.core.headroom import Load, headroom
from apps.digesters.queries.day_limits import DigesterDay
from apps.feedstock.core.feeds import PPM
from apps.places.core.hours import clock
from apps.planning.core.destinations import send_left_over
from apps.planning.core.explain import LeftOverWhy, explain_left_overs
from apps.planning.core.export import plan_document
from apps.planning.core.lookup import Index
from apps.planning.core.plan_facts import (
    DayRecipe,
    DigesterDayFacts,
    Document,
    LeftOverNote,
    Names,
    OpenHours,
    PlanFacts,
)
from apps.planning.core.result import Result
from apps.planning.core.sentences import Speaker
from apps.planning.core.standing import Standing
from apps.planning.queries.build_problem import Built
from apps.planning.queries.destinations import core_destinations, group_destinations
from apps.planning.queries.meetings import Windows
from apps.planning.queries.recipes import DayFeed, day_feed, home_measures
from apps.supply.models import Destination


@dataclass(frozen=True)
class Composed:
    """The document, and what the rows need beside it."""

    document: Document
    feeds: Mapping[tuple[str, int], DayFeed]
    """By digester and day, every day of every digester."""
    destinations: Mapping[str, Destination]
    """By batch left over; batches that stay with their source are absent."""


def compose_plan(built: Built, result: Result) -> Composed:
    """Explain the result, send what is left over somewhere, and write the recipes. The
    document's `plan` is empty until the plan has a version."""
    names = plan_names(built)
    feeds = _feeds(built, result)
    left_over = explain_left_overs(Standing.of(built.problem, result), result)
    places = group_destinations(built.group)
    core_places = core_destinations(built, places)
    sendings = send_left_over(built.problem, result.left_over, core_places)
    destinations = {
        sending.batch: places[sending.destination] for sending in sendings if sending.destination
    }
    facts = PlanFacts(
        digester_days=_digester_days(built, feeds),
        recipes=[
            DayRecipe(digester, day, feed.water_ml, feed.words, feed.in_measures)
            for (digester, day), feed in feeds.items()
            if feed.portions
        ],
        source_hours=_hours(built.source_hours),
        digester_hours=_hours(built.digester_hours),
        left_over=_notes(built, names, left_over, destinations),
        destinations=core_places,
        sendings=sendings,
        reach_m=built.group.reach_m,
    )
    return Composed(plan_document(built.problem, result, names, facts), feeds, destinations)


def plan_names(built: Built) -> Names:
    """What people call the things of a problem."""
    return Names(
        group=built.group.name,
        time_zone=built.group.time_zone,
        digesters={code: each.digester.name for code, each in built.digesters.items()},
        sources={code: source.name for code, source in built.sources.items()},
        materials={code: material.name for code, material in built.materials.items()},
    )


def binding_limit(day: DigesterDay, brought: Load) -> Limit:
    """The limit that stops a day's feed first, for a feed like `brought`; where nothing is
    brought, for mixed vegetable market waste."""
    per_million = Load(PPM, TYPICAL_VS_PPM, TYPICAL_SLURRY_PPM)
    if brought.feed_g:
        per_million = Load(
            PPM,
            brought.vs_g * PPM // brought.feed_g,
            brought.slurry_ml * PPM // brought.feed_g,
        )
    _amount_g, limit = headroom(day.limits, day.claims).amount_g(per_million)
    return limit


def _feeds(built: Built, result: Result) -> dict[tuple[str, int], DayFeed]:
    material_of = {code: row.stream.material.code for code, row in built.batches.items()} | {
        lot.code: lot.material for digester in built.problem.digesters for lot in digester.stock
    }
    brought: dict[tuple[str, int], dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for feed in result.feeds:
        brought[feed.digester, feed.day][material_of[feed.lot]] += feed.amount_g
    measures = home_measures(built.group)
    return {
        (code, index): day_feed(day, brought[code, index], built.materials, measures)
        for code, each in built.digesters.items()
        for index, day in enumerate(each.days)
    }


def _digester_days(
    built: Built, feeds: Mapping[tuple[str, int], DayFeed]
) -> list[DigesterDayFacts]:
    rows = []
    for code, each in built.digesters.items():
        for index, day in enumerate(each.days):
            limit = binding_limit(day, feeds[code, index].load)
            rows.append(
                DigesterDayFacts(
                    digester=code,
                    day=index,
                    max_feed_g=day.limits.max_feed_g,
                    max_vs_g=day.limits.max_vs_g,
                    max_slurry_ml=day.limits.max_slurry_ml,
                    binding_rule=str(limit.sentence),
                    rule_source=f"{limit.source} ({limit.evidence})",
                )
            )
    return rows


def _hours(windows: Mapping[str, Sequence[Windows]]) -> list[OpenHours]:
    return [
        OpenHours(
            code, day, tuple((clock(each.opens_min), clock(each.closes_min)) for each in stretches)
        )
        for code, by_day in windows.items()
        for day, stretches in enumerate(by_day)
    ]


def _notes(
    built: Built,
    names: Names,
    left_over: tuple[LeftOverWhy, ...],
    destinations: Mapping[str, Destination],
) -> list[LeftOverNote]:
    speaker = Speaker(Index(built.problem), names)
    return [
        speaker.note(why, destinations[why.batch].name if why.batch in destinations else None)
        for why in left_over
    ]


def on_day(built: Built, day: int) -> date:
    """The date of a day of the problem."""
    return built.problem.starts_on + timedelta(days=day)
