"""A planning problem from a group's own rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from apps.digesters.models import StageName
from apps.digesters.queries.day_limits import DigesterDays, limits_from
from apps.digesters.queries.records import read_records
from apps.feedstock.core.feeds import feed_coefficients
from apps.feedstock.core.materials import Material as KnownMaterial
from apps.groups.models import Group
from apps.places.core.hours import Window
from apps.planning.core import problem as core
from apps.planning.core.change import room_for_pins
from apps.planning.models import SteadyPair
from apps.planning.queries.batches import BatchRow, open_batches
from apps.planning.queries.hours_left import Meetings, passed_minutes
from apps.planning.queries.meetings import PlaceHours, Windows, place_hours
from apps.planning.queries.planned_digesters import (
    OldLots,
    planned_digesters,
    usual_solids_target,
)
from apps.planning.queries.planned_sources import planned_batches, planned_sources
from apps.planning.queries.reach import pairs_within
from apps.planning.queries.under_way import less_under_way, with_under_way
from apps.planning.queries.wishes_within import announced_within, bans_within, pins_within
from apps.supply.models import Source


@dataclass(frozen=True)
class Built:
    """A problem with the rows it was made of, by code."""

    group: Group
    problem: core.Problem
    digesters: Mapping[str, DigesterDays]
    sources: Mapping[str, Source]
    batches: Mapping[str, BatchRow]
    materials: Mapping[str, KnownMaterial]
    distances_m: Mapping[tuple[str, str], int]
    source_hours: Mapping[str, Sequence[Windows]]
    digester_hours: Mapping[str, Sequence[Windows]]
    old_stock: OldLots
    meetings: Meetings

    def meeting(self, source: str, digester: str, day: int) -> Window | None:
        """When to leave the source with the waste."""
        return self.meetings.of(source, digester, day)


SMALLEST_PART_G = 250
"""A handful of a batch beside a full pail is not worth a line. A ruling of ours."""
SMALLEST_PORTION_G = 100
"""A home weighs on a kitchen or hanging scale; less of a material does not show. A ruling of
ours."""


def build_problem(
    group: Group,
    first: date,
    days: int,
    *,
    as_of: date | None = None,
    change_budget: int | None = None,
    started: Sequence[core.Placement] = (),
    at: datetime | None = None,
) -> Built:
    """The problem of `days` days from `first`, from what was known on `as_of` (default: the day
    before). Hours of the first day that are over `at` are shut. A constant number of queries.

    Tests and scripts get the same problem on every database: nothing hangs on a row's id.
    `started` is what is under way, given by whoever runs the pickups: it counts as in the bins.
    """
    records = read_records(group, as_of or first - timedelta(days=1))
    limits = {
        code: each
        for code, each in limits_from(records, first, days).items()
        if each.digester.stage != StageName.CLOSED
    }
    rows = less_under_way(open_batches(group, first, days), started)
    sources = {
        source.code: source
        for source in Source.objects.of(group)
        .filter(is_active=True)
        .select_related("place", "contact")
        .order_by("code")
    }
    hours = place_hours(group, first, days)
    source_hours = {code: hours.of(source.place_id) for code, source in sources.items()}
    digester_hours = {code: _attended(hours, each) for code, each in limits.items()}
    distances_m = pairs_within(
        group,
        {code: source.place for code, source in sources.items()},
        {code: each.digester.place for code, each in limits.items()},
    )
    solids_target = usual_solids_target(limits.values())
    digesters, old_stock = planned_digesters(limits, records, first, solids_target)
    digesters = with_under_way(group, digesters, records.materials, started, first)
    batches = {row.code: row for row in rows}
    materials = records.materials
    pins = pins_within(group, first, days, batches, limits)
    previous = announced_within(group, first, days, batches, limits)
    meetings = Meetings(
        source_hours,
        digester_hours,
        distances_m,
        passed_minutes(first, at, group.time_zone),
        frozenset(
            (batches[each.batch].stream.source.code, each.digester)
            for each in previous
            if each.day == 0
        ),
    )
    steady = set(SteadyPair.objects.of(group).values_list("source__code", "digester__code"))
    problem = core.Problem(
        starts_on=first,
        days=days,
        materials=tuple(_material(each, solids_target) for each in materials.values()),
        digesters=digesters,
        sources=planned_sources(group, sources, first, records.as_of),
        batches=room_for_pins(planned_batches(rows, first), pins),
        pairs=tuple(
            core.Pair(
                source=source,
                digester=digester,
                distance_m=metres,
                meets_on_day=tuple(
                    meetings.of(source, digester, day) is not None for day in range(days)
                ),
                steady=(source, digester) in steady,
            )
            for (source, digester), metres in sorted(distances_m.items())
        ),
        pins=pins,
        bans=bans_within(group, first, days, sources, limits),
        previous=previous,
        rules=core.Rules(
            rota_limit_days=group.rota_limit_days,
            change_budget=change_budget,
            smallest_part_g=SMALLEST_PART_G,
            smallest_portion_g=SMALLEST_PORTION_G,
        ),
    )
    return Built(
        group=group,
        problem=problem,
        digesters=limits,
        sources=sources,
        batches=batches,
        materials=materials,
        distances_m=distances_m,
        source_hours=source_hours,
        digester_hours=digester_hours,
        old_stock=old_stock,
        meetings=meetings,
    )


def _attended(hours: PlaceHours, digester: DigesterDays) -> list[Windows]:
    return [
        windows if day.is_attended else ()
        for windows, day in zip(hours.of(digester.digester.place_id), digester.days, strict=True)
    ]


def _material(material: KnownMaterial, solids_target: float) -> core.Material:
    per_gram = feed_coefficients(material, solids_target)
    return core.Material(
        code=material.code,
        vs_ppm=per_gram.vs_ppm,
        slurry_ppm=per_gram.slurry_ppm,
        share_groups=tuple(sorted(material.groups)),
    )
