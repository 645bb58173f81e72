"""One digester's rows turned into the figures that its limits are computed from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, timedelta
from functools import lru_cache

from apps.digesters.core.absence_limits import level_vs_g
from apps.digesters.core.facts import QUANTITIES, DayConditions, DigesterFacts, Tightening
from apps.digesters.core.gas_fall import WINDOW_DAYS, gas_fall_share
from apps.digesters.core.loading import idle_weeks, stable_median_vs_g
from apps.digesters.core.rules import LimitRules, change_rule
from apps.digesters.core.slurry_temperature import (
    LAG_DAYS,
    AirDay,
    SlurryReading,
    coldest_expected_c,
)
from apps.digesters.core.stages import Stage
from apps.digesters.models import LimitChange, Reading, ReadingKind, StageName
from apps.digesters.queries.records import HISTORY_DAYS, DigesterRecords, GroupRecords
from apps.feedstock.core.feeds import PPM
from apps.feedstock.core.materials import Material
from apps.people.models import Member

BUFFERED_SHARE = 0.1
"""Part of the feed, by mass, that dung must make up to count as buffering it. Assumed."""

BUFFER_LOOK_BACK_DAYS = 14

COOLING_DAYS = 7

STALE_TEMPERATURE_DAYS = 14
"""Older slurry temperatures are not carried forward; the normals take over. Assumed."""


UNKNOWN_SLURRY_C = 20.0
"""Taken where neither a reading nor the place's monthly means are known. Assumed: cold enough
to keep the loading low."""


def counting_changes(records: DigesterRecords) -> list[LimitChange]:
    """The digester's own values, in the order they were asked for. A loosening counts only
    once a second person has confirmed it."""
    return [
        change
        for change in records.limit_changes
        if change.ended_at is None and (not change.loosens or change.confirmed_at is not None)
    ]


def own_caps(records: DigesterRecords) -> dict[str, LimitChange]:
    """Its own daily caps by quantity; the last one asked for counts."""
    return {
        change.limit_id: change
        for change in counting_changes(records)
        if change.limit_id in QUANTITIES
    }


def own_rules(records: DigesterRecords, rules: LimitRules) -> LimitRules:
    """The group's rules with this digester's own values in place, one change after another."""
    for change in counting_changes(records):
        if change.limit_id in rules.rules:
            rules = change_rule(
                rules,
                change.limit_id,
                float(change.value),
                asked_by=_who(change.asked_by),
                confirmed_by=_who(change.confirmed_by) if change.confirmed_by else "",
            )
    return rules


def _who(member: Member) -> str:
    return f"{member.name} ({member.code})"


def digester_facts(records: DigesterRecords, of: GroupRecords, on: date) -> DigesterFacts:
    """The digester as it stands on `on`. Its plate must be stated."""
    digester = records.digester
    stage = Stage(digester.stage)
    recovering = stage is Stage.RECOVERING
    return DigesterFacts(
        code=digester.code,
        working_volume_ml=digester.working_volume_ml,
        plate_feed_g=digester.rated_feed_g,
        plate_slurry_ml=digester.rated_slurry_ml,
        stage=stage,
        stage_days=max(0, (on - digester.stage_since_on).days),
        confirmed_steps=sum(
            "step" in change.evidence
            for change in records.changes
            if change.stage == digester.stage and change.since_on >= digester.stage_since_on
        ),
        buffered=_is_buffered(records, of.materials),
        solids_target=digester.solids_target_ppm / PPM,
        stable_mean_vs_g=stable_level_vs_g(records, of),
        stable_median_vs_g=stable_median_vs_g(records.fed.days, of.as_of),
        idle_weeks=idle_weeks(records.fed.days, digester.stage_since_on) if recovering else 0,
        recovering_from=_recovering_from(records) if recovering else "",
        wanted_vs_g=wanted_vs_g(
            digester.wanted_minutes_per_day, digester.burner_ml_per_h, of.rules
        ),
        tightenings=tuple(
            Tightening(limit_id, int(change.value), change.reason)
            for limit_id, change in sorted(own_caps(records).items())
        ),
    )


def stable_level_vs_g(records: DigesterRecords, of: GroupRecords) -> int | None:
    """What it is used to [g VS a day], on the day the records are of."""
    away = [
        each for each in records.absences if each.keyholder_id is None and each.last_on < of.as_of
    ]
    return level_vs_g(
        records.fed.days,
        of.as_of,
        (away[-1].first_on, away[-1].last_on) if away else None,
        of.rules.value("pause_loss_per_week"),
        of.rules.value("pause_least"),
    )


def day_conditions(records: DigesterRecords, of: GroupRecords, on: date) -> DayConditions:
    """What is expected of the day, from the readings up to `of.as_of`."""
    digester = records.digester
    absence = records.absence_on(on)
    strip = _latest(records, ReadingKind.PH)
    smell = _latest(records, ReadingKind.SOUR_SMELL)
    burner_min: dict[date, int] = {}
    for reading in records.readings:
        if reading.kind == ReadingKind.BURNER:
            burner_min[reading.on] = burner_min.get(reading.on, 0) + reading.value
    last_read_on = max((reading.on for reading in records.readings), default=None)
    return DayConditions(
        on=on,
        coldest_slurry_c=_coldest_c(
            tuple(of.group.air_normals_c),
            on,
            LAG_DAYS[digester.kind],
            _slurry(records, of),
            of.air,
        ),
        ph_strip=None if strip is None else strip.value / 100,
        sour_smell=smell is not None and smell.value == 1,
        gas_fall_share=gas_fall_share(of.as_of, burner_min, records.fed.vs_g()),
        gas_fall_cleared=_gas_checked(records, of.as_of),
        days_since_reading=min(
            HISTORY_DAYS, max(0, (of.as_of - (last_read_on or digester.stage_since_on)).days)
        ),
        cooled_k=_cooled_k(records),
        away=absence is not None,
        gas_room_l=digester.gas_holder_ml // 1000 if absence else None,
        outflow_room_ml=digester.outflow_storage_ml,
        model_vs_g=records.safe_vs_g,
    )


def wanted_vs_g(minutes: int, burner_ml_per_h: int, rules: LimitRules) -> int:
    """Volatile solids a day that feed one burner for so many minutes, at the gas that is
    counted for each gram (`gas_per_vs`)."""
    litres = minutes * burner_ml_per_h / 60 / 1000
    return math.ceil(litres / rules.value("gas_per_vs"))


def _latest(records: DigesterRecords, kind: ReadingKind) -> Reading | None:
    return next((each for each in reversed(records.readings) if each.kind == kind), None)


def _gas_checked(records: DigesterRecords, as_of: date) -> bool:
    """Whether somebody looked, within the days that the fall is measured over, and found none of
    the harmless causes."""
    look = _latest(records, ReadingKind.GAS_CHECKED)
    return look is not None and look.value == 1 and (as_of - look.on).days < WINDOW_DAYS


def _slurry(records: DigesterRecords, of: GroupRecords) -> SlurryReading | None:
    reading = _latest(records, ReadingKind.SLURRY_TEMPERATURE)
    if reading is None or (of.as_of - reading.on).days > STALE_TEMPERATURE_DAYS:
        return None
    return SlurryReading(reading.on, reading.value / 100)


def _cooled_k(records: DigesterRecords) -> float:
    """Fall of the slurry's temperature to the latest reading within a week before it."""
    latest = _latest(records, ReadingKind.SLURRY_TEMPERATURE)
    if latest is None:
        return 0.0
    since = latest.on - timedelta(days=COOLING_DAYS)
    warmest = max(
        each.value
        for each in records.readings
        if each.kind == ReadingKind.SLURRY_TEMPERATURE and since <= each.on <= latest.on
    )
    return (warmest - latest.value) / 100


def _is_buffered(records: DigesterRecords, materials: Mapping[str, Material]) -> bool:
    grams: dict[str, int] = {
        own.material.code: own.amount_g_per_day * BUFFER_LOOK_BACK_DAYS for own in records.own_waste
    }
    fed = records.fed.grams or {}
    if fed:
        last = max(fed)
        grams = {}
        for on, by_material in fed.items():
            if (last - on).days < BUFFER_LOOK_BACK_DAYS:
                for code, amount_g in by_material.items():
                    grams[code] = grams.get(code, 0) + amount_g
    total_g = sum(grams.values())
    dung_g = sum(amount_g for code, amount_g in grams.items() if materials[code].buffers)
    return total_g > 0 and dung_g >= BUFFERED_SHARE * total_g


def _recovering_from(records: DigesterRecords) -> str:
    """Why it recovers, by the last record of it; without one, the stricter reason counts."""
    reasons = [
        str(change.evidence.get("recovering_from", "souring"))
        for change in records.changes
        if change.stage == StageName.RECOVERING
    ]
    return reasons[-1] if reasons else "souring"


@lru_cache(maxsize=4096)
def _coldest_c(
    normals_c: tuple[float, ...],
    on: date,
    lag_days: float,
    reading: SlurryReading | None,
    air: tuple[AirDay, ...],
) -> float:
    if normals_c:
        return coldest_expected_c(normals_c, on, lag_days, reading, air=air)
    return reading.celsius if reading else UNKNOWN_SLURRY_C
