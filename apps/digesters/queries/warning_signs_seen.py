"""What is looked at to warn of a digester, from its rows and its forecast. No query."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from apps.digesters.core.process.digester_view import DigesterView
from apps.digesters.core.process.forecast import Forecast, StateSummary
from apps.digesters.core.stages import UNFED, Stage
from apps.digesters.core.temperature_caps import hrt_floor
from apps.digesters.models import ReadingKind
from apps.digesters.queries.day_facts import day_conditions, own_rules
from apps.digesters.queries.day_limits import DigesterDays
from apps.digesters.queries.lighting import holds_air
from apps.digesters.queries.model_inputs import ModelInputs
from apps.digesters.queries.records import GroupRecords
from apps.feedstock.core.materials import Material

WEEK_DAYS = 7
STRIP_DAYS = 7
"""An older strip tells nothing about tonight. Chosen by us."""


def signs_seen(
    of: GroupRecords,
    days: DigesterDays,
    inputs: ModelInputs,
    inside: StateSummary,
    ahead: Forecast,
    place: int,
    surprise: float | None,
) -> DigesterView:
    """Tonight's view of one digester; `place` is its own in the forecast."""
    records, today = days.records, of.as_of
    rules = own_rules(records, of.rules)
    conditions = day_conditions(records, of, today)
    week = [today - timedelta(days=back) for back in range(WEEK_DAYS)]
    fed = {on: inputs.fed_g.get(on, {}) for on in week}
    grams = {code: 0 for by_code in fed.values() for code in by_code}
    for by_code in fed.values():
        for code, amount_g in by_code.items():
            grams[code] += max(0, amount_g)
    vs_g = {code: each * of.materials[code].vs_share for code, each in grams.items()}
    slurry_ml = sum(grams.values()) + sum(inputs.water_ml.get(on, 0) for on in week)
    course = inputs.slurry_c(today, WEEK_DAYS + 1)
    celsius = dict.fromkeys(week, course[0])
    looks = inputs.looks(celsius)
    look = looks[max(looks)] if looks else None
    burnt = inputs.burnt_m3(celsius)
    room_m3 = inputs.room_m3(course[0])
    strips = [
        each
        for each in inputs.readings
        if each.kind == ReadingKind.PH and (today - each.on).days < STRIP_DAYS
    ]
    unfed = Stage(records.digester.stage) in UNFED
    return DigesterView(
        feeding=not unfed and days.days[0].is_attended,
        souring_probability=None if unfed else ahead.souring_probability(place),
        souring_in_days=ahead.souring_in_days(place),
        ph_strip=strips[-1].value / 100 if strips else None,
        sour_smell=conditions.sour_smell,
        may_light=not records.gas_smells and not holds_air(records.digester, records.changes),
        fed_vs_7d_g=sum(vs_g.values()),
        minimum_vs_7d_g=days.days[0].limits.min_vs_g * WEEK_DAYS,
        hrt_7d=records.digester.working_volume_ml * WEEK_DAYS / slurry_ml if slurry_ml else None,
        hrt_floor=hrt_floor(rules, conditions.coldest_slurry_c)[0],
        ammonia_g_n_l=inside.ammonia_nitrogen_g_per_l.middle,
        ph=inside.ph.middle,
        oil_fat_share=_share(vs_g, of.materials, "oil_fat"),
        oil_fat_cap=rules.share("share_oil_fat"),
        citrus_share=_share(grams, of.materials, "citrus"),
        citrus_cap=rules.share("share_citrus"),
        gas_fall_share=conditions.gas_fall_share,
        gas_fall_limit=rules.share("gas_fall_ask"),
        gas_surprise=surprise,
        holder_at_stop=look.seen.at_stop if look else None,
        gas_tomorrow_m3=ahead.gas_band(place, 0).middle,
        holder_room_m3=room_m3 - look.seen.standard_m3 if look and room_m3 is not None else None,
        gas_use_m3=sum(burnt.values()) / len(burnt) if burnt else None,
        slurry_c=course[0],
        slurry_lowest_c=min(course),
    )


def _share(
    amounts: Mapping[str, float], materials: Mapping[str, Material], group: str
) -> float | None:
    total = sum(amounts.values())
    if not total:
        return None
    return sum(each for code, each in amounts.items() if group in materials[code].groups) / total
