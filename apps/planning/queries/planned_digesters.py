"""Digesters as the planner sees them: what a plan may add, what is wanted, what is in the bin."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Collection, Mapping
from datetime import date, timedelta

from apps.digesters.core.headroom import Load, minimum_left_vs_g, target_left_vs_g
from apps.digesters.models import Digester
from apps.digesters.queries.day_limits import DigesterDay, DigesterDays
from apps.digesters.queries.fed_history import fed_history
from apps.digesters.queries.records import GroupRecords
from apps.feedstock.core.feeds import PPM, SOLIDS_TARGET
from apps.groups.models import Group
from apps.ledger.queries.balances import Lot, lots_in
from apps.planning.core import problem as core
from apps.supply.core.holding import shelf_life_days
from apps.supply.queries.expected_supply import DAY_OVER_MEAN_K, UNKNOWN_AIR_C

FAIR_DAYS = 28
"""Days over which homes should have had their share, and over which a share is forgotten."""

MOST_FILL_PPM = 3 * PPM
"""A home that was given three times its target is as much ahead as it can be."""

STOCK_LOOK_BACK_DAYS = 30

VOLUNTEER_LIFT_G = 15_000
"""Most a volunteer carries at once where nobody's own limit is known: ISO 11228-1, from memory."""

OldLots = tuple[tuple[str, Lot], ...]
"""Lots, with their digester's code, whose time is over: to be set aside, never fed."""


def planned_digesters(
    digesters: Mapping[str, DigesterDays], records: GroupRecords, first: date, solids_target: float
) -> tuple[tuple[core.Digester, ...], OldLots]:
    """By code; three queries, two more when the plan begins on a day that is under way."""
    group = records.group
    stock, old_stock = _stock(group, digesters, first, records)
    fed = _fed_today(group, digesters, records, first) if records.as_of == first else {}
    return tuple(
        _digester(
            each,
            records,
            solids_target,
            stock[code],
            _recent_fill_ppm(each, first),
            fed.get(code, Load()),
        )
        for code, each in digesters.items()
    ), old_stock


def usual_solids_target(digesters: Collection[DigesterDays]) -> float:
    """The slurry target that most digesters have, the thinner of equals: a material has one
    slurry figure in a problem."""
    counts = Counter(each.digester.solids_target_ppm for each in digesters)
    if not counts:
        return SOLIDS_TARGET
    most = max(counts.values())
    return min(ppm for ppm, count in counts.items() if count == most) / PPM


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
