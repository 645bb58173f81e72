"""How much may each digester take on each day, and why: the one answer for plans and pages."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from apps.digesters.core.absence_limits import TAPER_PERCENT, TAPER_SOURCE, say_taper
from apps.digesters.core.day_limits import DayLimits, Limit
from apps.digesters.core.facts import QUANTITIES
from apps.digesters.core.headroom import Claims, Load, load_of
from apps.digesters.core.limits import feed_limits
from apps.digesters.core.own_waste import expect_own_waste
from apps.digesters.core.share_caps import refused_groups, share_caps
from apps.digesters.models import Digester
from apps.digesters.queries.day_facts import (
    day_conditions,
    digester_facts,
    own_rules,
    stable_level_vs_g,
)
from apps.digesters.queries.records import DigesterRecords, GroupRecords, read_records
from apps.feedstock.core.feeds import PPM
from apps.feedstock.core.mixing import Portion
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.kernel.sentences import Sentence, gettext_noop
from apps.places.models import Absence

_NO_PLATE = gettext_noop(
    "Nobody has stated what it is rated for (%(kg)s kg and %(litres)s L a day): it gets no waste. "
    "Enter what its plate or its builder says."
)
_NOBODY_THERE = gettext_noop(
    "Nobody is there until %(last)s and no keyholder is named: it is not fed."
)


_GAS_SMELL = gettext_noop(
    "Gas was smelled there on %(on)s: it is not fed and nothing is lit until somebody named has "
    "tested it for tightness."
)


@dataclass(frozen=True)
class DigesterDay:
    """One digester on one day: its limits, and its own kitchen waste, which goes first, as far
    as the maxima let it in."""

    on: date
    limits: DayLimits
    own_kitchen: tuple[Portion, ...]
    is_attended: bool
    """False while nobody could feed it or open the door."""
    solids_target: float
    own_foreseen_g: int = 0
    own_days: int = 0
    """All the own kitchen waste foreseen, of which `own_kitchen` fits; and the days written down
    that it is foreseen from, 0 for as the household said."""

    @property
    def claims(self) -> Claims:
        """What stands against the day before anything is brought."""
        return Claims(own_kitchen=self.own_kitchen, solids_target=self.solids_target)

    @property
    def own_load(self) -> Load:
        """What own kitchen waste brings to the limits."""
        return load_of(self.own_kitchen, self.solids_target)


@dataclass(frozen=True)
class DigesterDays:
    """One digester over the days asked for, with the rows that the answer came from."""

    digester: Digester
    records: DigesterRecords
    days: tuple[DigesterDay, ...]


def day_limits(
    group: Group, first: date, days: int, *, as_of: date | None = None
) -> dict[str, DigesterDays]:
    """By digester code, every limit of `days` days from `first`.

    Readings and feedings count up to `as_of` (by default `first`). The number of queries is the
    same for one digester and for a thousand.
    """
    return limits_from(read_records(group, as_of or first), first, days)


def limits_from(of: GroupRecords, first: date, days: int) -> dict[str, DigesterDays]:
    """The same from records read before."""
    return {
        code: DigesterDays(records.digester, records, tuple(_days(records, of, first, days)))
        for code, records in of.digesters.items()
    }


def _days(records: DigesterRecords, of: GroupRecords, first: date, days: int) -> list[DigesterDay]:
    solids_target = records.digester.solids_target_ppm / PPM
    said_g = {waste.material.code: waste.amount_g_per_day for waste in records.own_waste}
    since = records.own_changed_on or date.min
    fed_on = [day.on for day in records.fed.days if day.on > since]
    found = []
    for limits in _limits(records, of, first, days):
        own = expect_own_waste(
            said_g, records.fed.own_grams, fed_on, limits.on, of.as_of - timedelta(days=1)
        )
        portions = tuple(
            Portion(of.materials[code], amount_g) for code, amount_g in own.amounts_g.items()
        )
        absence = records.absence_on(limits.on)
        found.append(
            DigesterDay(
                on=limits.on,
                limits=limits,
                own_kitchen=_within(portions, limits, solids_target) if absence is None else (),
                is_attended=not _unattended(absence),
                solids_target=solids_target,
                own_foreseen_g=sum(own.amounts_g.values()),
                own_days=own.days,
            )
        )
    return found


def _within(
    own: tuple[Portion, ...], limits: DayLimits, solids_target: float
) -> tuple[Portion, ...]:
    """Own kitchen waste as far as the day's maxima let it in; all of it on a usual day."""
    load = load_of(own, solids_target)
    most, of = min(
        (
            (limits.max_feed_g, load.feed_g),
            (limits.max_vs_g, load.vs_g),
            (limits.max_slurry_ml, load.slurry_ml),
        ),
        key=lambda each: each[0] / each[1] if each[1] else math.inf,
    )
    if most >= of:
        return own
    return tuple(
        Portion(portion.material, portion.amount_g * most // of)
        for portion in own
        if portion.amount_g * most // of
    )


def _limits(records: DigesterRecords, of: GroupRecords, first: date, days: int) -> list[DayLimits]:
    digester = records.digester
    rules = own_rules(records, of.rules)
    if not digester.rated_feed_g or not digester.rated_slurry_ml:
        sentence = Sentence(
            _NO_PLATE,
            {
                "kg": f"{digester.rated_feed_g / 1000:g}",
                "litres": f"{digester.rated_slurry_ml / 1000:g}",
            },
        )
        return [
            DayLimits(
                digester=digester.code,
                on=on,
                limits=_zeros("no_plate", sentence, gettext_noop("The digester's own plate")),
                share_caps=share_caps(rules),
                refused_groups=refused_groups(rules),
                target_vs_g=0,
                min_vs_g=0,
                suspended=sentence,
                planning_fill=rules.share("planning_fill"),
            )
            for on in days_from(first, days)
        ]
    facts = digester_facts(records, of, first)
    limits = []
    for later, on in enumerate(days_from(first, days)):
        day = feed_limits(
            replace(facts, stage_days=facts.stage_days + later),
            day_conditions(records, of, on),
            rules,
        )
        absence = records.absence_on(on)
        if _unattended(absence) and absence:
            day = _closed(day, absence)
        elif (taper := _taper(records, of, on)) is not None:
            day = _lowered(day, taper)
        limits.append(_smells(day, records) if records.gas_smells else day)
    return limits


def _taper(records: DigesterRecords, of: GroupRecords, on: date) -> Limit | None:
    """The limit of the days before nobody is there."""
    level_g = stable_level_vs_g(records, of)
    if level_g is None:
        return None
    for before, percent in TAPER_PERCENT.items():
        absence = records.absence_on(on + timedelta(days=before))
        if _unattended(absence) and absence is not None:
            sentence = say_taper(absence.first_on.isoformat(), percent)
            return Limit(
                "taper", "vs_g", level_g * percent // 100, sentence, TAPER_SOURCE, "assumed"
            )
    return None


def _lowered(day: DayLimits, limit: Limit) -> DayLimits:
    """The day with one more limit on volatile solids; target and minimum lie under it."""
    target_g = min(day.target_vs_g, math.floor(limit.value * day.planning_fill))
    return replace(
        day,
        limits=(*day.limits, limit),
        target_vs_g=target_g,
        min_vs_g=min(day.min_vs_g, target_g),
    )


def _smells(day: DayLimits, records: DigesterRecords) -> DayLimits:
    on = min(each.raised_at for each in records.gas_smells).date()
    sentence = Sentence(_GAS_SMELL, {"on": on.isoformat()})
    return replace(
        day,
        limits=(
            *_zeros("gas_smell", sentence, gettext_noop("GTZ 1989 s. 7.5; the group's rule")),
            *day.limits,
        ),
        target_vs_g=0,
        min_vs_g=0,
        suspended=sentence,
    )


def _unattended(absence: Absence | None) -> bool:
    return absence is not None and absence.keyholder_id is None


def _closed(day: DayLimits, absence: Absence) -> DayLimits:
    sentence = Sentence(_NOBODY_THERE, {"last": absence.last_on.isoformat()})
    return replace(
        day,
        limits=(
            *_zeros("nobody_there", sentence, gettext_noop("The household's own word")),
            *day.limits,
        ),
        target_vs_g=0,
        min_vs_g=0,
        suspended=sentence,
    )


def _zeros(rule_id: str, sentence: Sentence, source: str) -> tuple[Limit, ...]:
    return tuple(
        Limit(rule_id, quantity, 0, sentence, source, "practice") for quantity in QUANTITIES
    )


def own_portions_g(day: DigesterDay) -> Mapping[str, int]:
    """Own kitchen waste of a day in grams by material code."""
    return {portion.material.code: portion.amount_g for portion in day.own_kitchen}
