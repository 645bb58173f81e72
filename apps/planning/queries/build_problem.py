"""A planning problem from a group's own rows."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from apps.digesters.core.headroom import Load, minimum_left_vs_g, target_left_vs_g
from apps.digesters.models import Digester, StageName
from apps.digesters.queries.day_limits import DigesterDay, DigesterDays, limits_from
from apps.digesters.queries.fed_history import fed_history
from apps.digesters.queries.records import GroupRecords, read_records
from apps.feedstock.core.feeds import PPM, feed_coefficients
from apps.feedstock.core.materials import Material as KnownMaterial
from apps.groups.models import Group
from apps.ledger.queries.balances import Lot, lots_in
from apps.ledger.queries.grams_per_day import last_collected_on
from apps.places.core.distance import Point
from apps.places.core.hours import Window
from apps.places.models import Place
from apps.planning.core import problem as core
from apps.planning.models import Assignment, Ban, Pin, PlanStatus, SteadyPair
from apps.planning.queries.batches import BatchRow, batch_code, open_batches
from apps.planning.queries.meetings import PlaceHours, Windows, meeting, place_hours
from apps.planning.queries.reach import pairs_within
from apps.planning.queries.started import closed_pairs
from apps.supply.core.holding import shelf_life_days
from apps.supply.models import Source
from apps.supply.queries.expected_supply import DAY_OVER_MEAN_K, UNKNOWN_AIR_C

FAIR_DAYS = 28
"""Days over which homes should have had their share, and over which a share is forgotten."""

MOST_FILL_PPM = 3 * PPM
"""A home that was given three times its target is as much ahead as it can be."""

STOCK_LOOK_BACK_DAYS = 30

VOLUNTEER_LIFT_G = 15_000
"""Most a volunteer carries at once where nobody's own limit is known: ISO 11228-1, from memory."""


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
    previous_version: int | None
    old_stock: tuple[tuple[str, Lot], ...]
    """Lots (with their digester's code) whose time is over: to be set aside, never fed."""

    def meeting(self, source: str, digester: str, day: int) -> Window | None:
        """When to leave the source with the waste."""
        return meeting(
            self.source_hours[source][day],
            self.digester_hours[digester][day],
            self.distances_m[source, digester],
        )


def build_problem(
    group: Group,
    first: date,
    days: int,
    *,
    as_of: date | None = None,
    change_budget: int | None = None,
    started: Sequence[core.Placement] = (),
) -> Built:
    """The problem of `days` days from `first`, from what was known on `as_of` (default: the day
    before). A constant number of queries.

    Tests and scripts get the same problem on every database: nothing hangs on a row's id.
    `started` are pickups that have begun, given by whoever runs them.
    """
    records = read_records(group, as_of or first - timedelta(days=1))
    limits = {
        code: each
        for code, each in limits_from(records, first, days).items()
        if each.digester.stage != StageName.CLOSED
    }
    rows = open_batches(group, first, days)
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
        {code: _point(source.place) for code, source in sources.items()},
        {code: _point(each.digester.place) for code, each in limits.items()},
        group.reach_m,
        group.detour_ppm,
    )
    solids_target = _usual_solids_target(limits.values())
    stock, old_stock = _stock(group, limits, first, records)
    previous_version, previous = _previous(group, first, days)
    batches = {row.code: row for row in rows}
    materials = records.materials
    fed = _fed_today(group, limits, records, first) if records.as_of == first else {}
    begun = tuple(
        each
        for each in started
        # Where a digester takes nothing any more, or a batch is unknown, a person must decide.
        if each.batch in batches and each.digester in limits and _takes(limits[each.digester])
    )
    steady = set(SteadyPair.objects.of(group).values_list("source__code", "digester__code"))
    fills = {code: _recent_fill_ppm(each, first) for code, each in limits.items()}
    problem = core.Problem(
        starts_on=first,
        days=days,
        materials=tuple(_material(each, solids_target) for each in materials.values()),
        digesters=tuple(
            _digester(each, records, solids_target, stock[code], fills[code], fed.get(code, Load()))
            for code, each in limits.items()
        ),
        sources=_sources(group, sources, first),
        batches=_with_begun(tuple(_batch(row, first) for row in rows), begun),
        pairs=tuple(
            core.Pair(
                source=source,
                digester=digester,
                distance_m=metres,
                meets_on_day=tuple(
                    meeting(ours, theirs, metres) is not None
                    for ours, theirs in zip(
                        source_hours[source], digester_hours[digester], strict=True
                    )
                ),
                steady=(source, digester) in steady,
            )
            for (source, digester), metres in sorted(distances_m.items())
        ),
        pins=_pins(group, first, days, batches, limits),
        bans=_bans(group, first, days, sources, limits),
        started=begun,
        previous=tuple(
            each for each in previous if each.batch in batches and each.digester in limits
        ),
        rules=core.Rules(rota_limit_days=group.rota_limit_days, change_budget=change_budget),
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
        previous_version=previous_version,
        old_stock=old_stock,
    )


def _attended(hours: PlaceHours, digester: DigesterDays) -> list[Windows]:
    return [
        windows if day.is_attended else ()
        for windows, day in zip(hours.of(digester.digester.place_id), digester.days, strict=True)
    ]


def _point(place: Place) -> Point:
    return Point(float(place.latitude), float(place.longitude))


def _usual_solids_target(digesters: Sequence[DigesterDays]) -> float:
    """The slurry target that most digesters have, the thinner of equals: a material has one
    slurry figure in a problem."""
    counts = Counter(each.digester.solids_target_ppm for each in digesters)
    if not counts:
        return 0.06
    most = max(counts.values())
    return min(ppm for ppm, count in counts.items() if count == most) / PPM


def _material(material: KnownMaterial, solids_target: float) -> core.Material:
    per_gram = feed_coefficients(material, solids_target)
    return core.Material(
        code=material.code,
        vs_ppm=per_gram.vs_ppm,
        slurry_ppm=per_gram.slurry_ppm,
        share_groups=tuple(sorted(material.groups)),
    )


def _digester(
    days: DigesterDays,
    records: GroupRecords,
    solids_target: float,
    stock: tuple[core.StockLot, ...],
    recent_fill_ppm: int,
    fed_today: Load,
) -> core.Digester:
    digester = days.digester
    household = digester.household
    return core.Digester(
        code=digester.code,
        caps=tuple(
            _caps(day, solids_target, fed_today if index == 0 else Load())
            for index, day in enumerate(days.days)
        ),
        target_vs_g=tuple(
            max(
                0,
                target_left_vs_g(day.limits, day.claims) - (0 if index else fed_today.vs_g),
            )
            for index, day in enumerate(days.days)
        ),
        min_vs_g=max(
            0,
            minimum_left_vs_g([(day.limits, day.claims) for day in days.days]) - fed_today.vs_g,
        ),
        bin_g=digester.bin_g,
        accepts=_accepts(digester, days, records),
        max_visits_per_day=digester.max_visits_per_day,
        carry_limit_g=household.carry_limit_g if household else VOLUNTEER_LIFT_G,
        min_pickup_g=digester.min_pickup_g,
        share_caps=tuple(
            core.ShareCap(cap.group, cap.share_ppm, cap.basis)
            for cap in days.days[0].limits.share_caps
        ),
        own_waste=tuple(
            core.OwnWaste(index, portion.material.code, portion.amount_g)
            for index, day in enumerate(days.days)
            for portion in day.own_kitchen
        ),
        stock=stock,
        recent_fill_ppm=recent_fill_ppm,
    )


def _takes(days: DigesterDays) -> bool:
    return any(day.limits.max_feed_g and day.limits.max_vs_g for day in days.days)


def _with_begun(
    batches: tuple[core.Batch, ...], begun: tuple[core.Placement, ...]
) -> tuple[core.Batch, ...]:
    """What is under way exists, whatever its source has said since."""
    carried: Counter[str] = Counter()
    for each in begun:
        carried[each.batch] += each.amount_g
    return tuple(
        replace(batch, amount_g=max(batch.amount_g, carried[batch.code])) for batch in batches
    )


def _fed_today(
    group: Group, limits: Mapping[str, DigesterDays], records: GroupRecords, first: date
) -> dict[str, Load]:
    """What already went in on the first day, when the plan begins in the middle of it. Own
    kitchen waste is counted as still to come as well: rather too little than too much."""
    digesters = [each.digester for each in limits.values()]
    histories = fed_history(group, digesters, records.materials, first, first)
    return {
        code: Load(day.feed_g, day.vs_g, day.slurry_ml)
        for code, history in histories.items()
        for day in history.days
    }


def _caps(day: DigesterDay, solids_target: float, fed_today: Load) -> core.DayCaps:
    """What a plan may add. A home that wants its slurry thinner than usual gets the fewer
    litres in proportion: slurry per gram grows at most as the target falls."""
    limits, own = day.limits, day.own_load + fed_today
    slurry_ml = max(0, limits.planned_cap("slurry_ml") - own.slurry_ml)
    if day.solids_target < solids_target:
        slurry_ml = math.floor(slurry_ml * day.solids_target / solids_target)
    return core.DayCaps(
        feed_g=max(0, limits.planned_cap("feed_g") - own.feed_g),
        vs_g=max(0, limits.planned_cap("vs_g") - own.vs_g),
        slurry_ml=slurry_ml,
    )


def _accepts(digester: Digester, days: DigesterDays, records: GroupRecords) -> frozenset[str]:
    """Materials that may be brought: not refused by the household, not in a group of waste
    that is unfit or switched off; animal waste only where the household takes it too."""
    refused = set(days.days[0].limits.refused_groups)
    if not digester.accepts_animal_waste:
        refused.add("animal")
    return frozenset(
        code
        for code, material in records.materials.items()
        if code not in days.records.refused and not refused.intersection(material.groups)
    )


def _sources(group: Group, sources: Mapping[str, Source], first: date) -> tuple[core.Source, ...]:
    """With the days since somebody last came: what the ledger knows, and what was announced
    for days that are not yet written down."""
    collected = last_collected_on(group)
    announced: dict[str, date] = {}
    for code, on in (
        Assignment.objects.of(group)
        .filter(plan__status=PlanStatus.ANNOUNCED, on__lt=first)
        .values_list("source__code", "on")
    ):
        announced[code] = max(on, announced.get(code, on))
    built = []
    for code, source in sources.items():
        visits = [
            on
            for on in (collected.get(source.account_id), announced.get(code))
            if on is not None and on < first
        ]
        built.append(
            core.Source(
                code=code,
                max_homes_per_day=source.max_homes_per_day,
                waited_days=(first - max(visits)).days if visits else None,
            )
        )
    return tuple(built)


def _batch(row: BatchRow, first: date) -> core.Batch:
    feed_by = (row.feed_by_on - first).days
    return core.Batch(
        code=row.code,
        source=row.stream.source.code,
        material=row.stream.material.code,
        amount_g=row.amount_g,
        ready_day=(row.on - first).days,
        collect_by_day=min((row.collect_by_on - first).days, feed_by),
        feed_by_day=feed_by,
        divisible=row.stream.is_divisible,
    )


def _stock(
    group: Group, digesters: Mapping[str, DigesterDays], first: date, records: GroupRecords
) -> tuple[dict[str, tuple[core.StockLot, ...]], tuple[tuple[str, Lot], ...]]:
    """What is in each bin, and the lots whose time is over."""
    code_of = {each.digester.bin_account_id: code for code, each in digesters.items()}
    fresh: dict[str, list[core.StockLot]] = defaultdict(list)
    old: list[tuple[str, Lot]] = []
    lots = lots_in(group, code_of, first - timedelta(days=STOCK_LOOK_BACK_DAYS))
    for account, held in lots.items():
        for lot in held:
            material = records.materials[lot.material_code]
            normals_c = group.air_normals_c
            warmest_c = (
                normals_c[lot.arrived_on.month - 1] + DAY_OVER_MEAN_K
                if normals_c
                else UNKNOWN_AIR_C
            )
            shelf = shelf_life_days(material.holding, warmest_c, material.groups)
            feed_by = (lot.arrived_on - first).days + shelf
            if feed_by < 0:
                old.append((code_of[account], lot))
                continue
            code = code_of[account]
            fresh[code].append(
                core.StockLot(
                    code=f"{code}:{lot.material_code}@{lot.arrived_on.isoformat()}",
                    material=lot.material_code,
                    amount_g=lot.amount_g,
                    feed_by_day=feed_by,
                )
            )
    old.sort(key=lambda each: (each[0], each[1].arrived_on, each[1].material_code))
    return {code: tuple(fresh[code]) for code in digesters}, tuple(old)


def _recent_fill_ppm(days: DigesterDays, first: date) -> int:
    """Volatile solids of the last 28 days against today's target of as many days; a digester
    that has been fed for a shorter time is judged by that time."""
    target_vs_g = max((day.limits.target_vs_g for day in days.days), default=0)
    fed = {
        on: vs_g
        for on, vs_g in days.records.fed.vs_g().items()
        if first - timedelta(days=FAIR_DAYS) <= on < first
    }
    if not target_vs_g or not fed:
        return PPM
    span = min(FAIR_DAYS, (first - min(fed)).days)
    return min(MOST_FILL_PPM, sum(fed.values()) * PPM // (target_vs_g * span))


def _pins(
    group: Group,
    first: date,
    days: int,
    batches: Mapping[str, BatchRow],
    digesters: Mapping[str, DigesterDays],
) -> tuple[core.Pin, ...]:
    rows = (
        Pin.objects.of(group)
        .filter(on__gte=first, on__lt=first + timedelta(days=days))
        .values_list("stream__code", "batch_on", "digester__code", "on", "amount_g")
    )
    pins = (
        core.Pin(batch_code(stream, batch_on), digester, (on - first).days, amount_g)
        for stream, batch_on, digester, on, amount_g in rows
    )
    return tuple(
        sorted(
            (pin for pin in pins if pin.batch in batches and pin.digester in digesters),
            key=lambda pin: (pin.batch, pin.digester, pin.day),
        )
    )


def _bans(
    group: Group,
    first: date,
    days: int,
    sources: Mapping[str, Source],
    digesters: Mapping[str, DigesterDays],
) -> tuple[core.Ban, ...]:
    bans = {
        core.Ban(source, digester, None if on is None else (on - first).days)
        for source, digester, on in Ban.objects.of(group).values_list(
            "source__code", "digester__code", "on"
        )
        if source in sources
        and digester in digesters
        and (on is None or 0 <= (on - first).days < days)
    }
    bans |= {
        core.Ban(source, digester, (on - first).days)
        for source, digester, on in closed_pairs(group, first, days)
        if source in sources and digester in digesters
    }
    return tuple(
        sorted(bans, key=lambda ban: (ban.source, ban.digester, -1 if ban.day is None else ban.day))
    )


def _previous(group: Group, first: date, days: int) -> tuple[int | None, list[core.Placement]]:
    """The announced plan's version and its assignments inside the days."""
    version = None
    placements = []
    rows = (
        Assignment.objects.of(group)
        .filter(plan__status=PlanStatus.ANNOUNCED, on__gte=first)
        .filter(on__lt=first + timedelta(days=days))
        .values_list(
            "plan__version", "stream__code", "batch_on", "digester__code", "on", "amount_g"
        )
    )
    for version, stream, batch_on, digester, on, amount_g in rows:  # noqa: B007
        placements.append(
            core.Placement(batch_code(stream, batch_on), digester, (on - first).days, amount_g)
        )
    return version, sorted(placements, key=lambda each: (each.batch, each.digester, each.day))
