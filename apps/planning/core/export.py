"""A plan as one self-contained document: every input a check needs, every output it claims.

`plan_document` gives a dictionary of plain JSON values; `plan_tables` in `core/tables.py`
cuts it into flat tables. A reader needs no other file: whoever has the document can test
every limit.

Units: `_g` grams, `_ml` millilitres, `_m` metres, `_ppm` parts per million (grams of volatile
solids, or millilitres of slurry with its water, per 10^6 g fresh). `_on` is a local date of the
group (ISO 8601, `YYYY-MM-DD`), times are local `HH:MM`; no instants, so no zone is needed to
read one, but the zone's name is stated.

Amounts of placements and feeds are as collected at the source, before trimming; `usable_g`
beside them is what of it is really fed, `amount_g * usable_ppm / 10^6` of the pair, rounded
down. Limits are meant on the unrounded usable amounts. Of a batch `low_g` surely comes, and
hardly more than `high_g`: minimum and shortfall count the first's part of its grams (parts per
million rounded down), bins the second's (rounded up).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date, timedelta
from typing import Any

from apps.planning.core.destinations import Destination, Sending
from apps.planning.core.problem import PPM, Digester, Material, Placement, Problem
from apps.planning.core.result import Result

SCHEMA = "neighbourhood-feed-plan"
SCHEMA_VERSION = 1

Document = dict[str, Any]
"""JSON values only: dict, list, str, int, float, bool, None."""

Hours = tuple[str, str]
"""Local opening and closing time of one stretch, `HH:MM`, `24:00` for midnight at the end."""


@dataclass(frozen=True, slots=True)
class Names:
    """What people call things, by code; a missing name falls back to the code."""

    group: str = ""
    time_zone: str = "UTC"
    plan: str = ""
    digesters: Mapping[str, str] = field(default_factory=dict)
    sources: Mapping[str, str] = field(default_factory=dict)
    materials: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DigesterDayFacts:
    """The maximum stored with one digester-day, own kitchen waste included, and its reason.

    `binding_rule` is a sentence naming the rule that makes the maximum what it is and
    `rule_source` where that rule is published (or that it is assumed).
    """

    digester: str
    day: int
    max_feed_g: int
    max_vs_g: int
    max_slurry_ml: int
    binding_rule: str = ""
    rule_source: str = ""


@dataclass(frozen=True, slots=True)
class InMeasure:
    """So many half measures of `of` ("waste" or "water"), e.g. 3 halves of a 10-litre pail."""

    of: str
    measure: str
    volume_ml: int
    halves: int


@dataclass(frozen=True, slots=True)
class DayRecipe:
    """Water for all that is fed on one digester-day, and the recipe in the home's measures:
    as English words, and counted so that a reader may say it in any language."""

    digester: str
    day: int
    water_ml: int
    words: str = ""
    in_measures: Sequence[InMeasure] = ()


@dataclass(frozen=True, slots=True)
class OpenHours:
    """Hours of one end (a source's or a digester's code) on one day; empty means closed."""

    code: str
    day: int
    stretches: tuple[Hours, ...]


@dataclass(frozen=True, slots=True)
class LeftOverNote:
    """Why grams of a batch (or stock lot) are left over, the smallest change that would place
    them, and where they go (None: they stay with the source)."""

    batch: str
    reason_code: str
    reason: str
    smallest_change: str = ""
    destination: str | None = None


@dataclass(frozen=True, slots=True)
class PlanFacts:
    """What the document says beyond problem and result; each part may be missing.

    Without `digester_days` a maximum is what the plan may add plus own kitchen waste. Ends
    without stated hours are exported as unknown (null) and the pair's days are believed.
    """

    digester_days: Sequence[DigesterDayFacts] = ()
    recipes: Sequence[DayRecipe] = ()
    source_hours: Sequence[OpenHours] = ()
    digester_hours: Sequence[OpenHours] = ()
    left_over: Sequence[LeftOverNote] = ()
    destinations: Sequence[Destination] = ()
    sendings: Sequence[Sending] = ()
    reach_m: int | None = None


def plan_document(
    problem: Problem, result: Result, names: Names | None = None, facts: PlanFacts | None = None
) -> Document:
    """The whole plan as JSON values. Lists are sorted by code, then date."""
    names = names or Names()
    facts = facts or PlanFacts()
    on = [(problem.starts_on + timedelta(days=day)).isoformat() for day in range(problem.days)]
    return {
        "schema": SCHEMA,
        "schema_version": SCHEMA_VERSION,
        "group": {"name": names.group, "time_zone": names.time_zone},
        "plan": names.plan,
        "days": on,
        "rules": {
            "rota_limit_days": problem.rules.rota_limit_days,
            "change_budget": problem.rules.change_budget,
            "smallest_part_g": problem.rules.smallest_part_g,
            "reach_m": facts.reach_m,
        },
        **_inputs(problem, names, facts),
        **_outputs(problem, result, facts),
    }


def _date(problem: Problem, day: int) -> str:
    """Days may lie before or after the horizon; dates outside the calendar stop at its ends."""
    try:
        return (problem.starts_on + timedelta(days=day)).isoformat()
    except OverflowError:
        return (date.max if day > 0 else date.min).isoformat()


def _inputs(problem: Problem, names: Names, facts: PlanFacts) -> Document:
    source_hours = _hours_by_code(problem, facts.source_hours)
    digester_hours = _hours_by_code(problem, facts.digester_hours)
    return {
        "materials": [
            {
                "code": material.code,
                "name": names.materials.get(material.code, material.code),
                "vs_ppm": material.vs_ppm,
                "slurry_ppm": material.slurry_ppm,
                "share_groups": sorted(material.share_groups),
            }
            for material in sorted(problem.materials, key=lambda each: each.code)
        ],
        "digesters": [
            {
                "code": digester.code,
                "name": names.digesters.get(digester.code, digester.code),
                "bin_g": digester.bin_g,
                "accepts": sorted(digester.accepts),
                "max_visits_per_day": digester.max_visits_per_day,
                "carry_limit_g": digester.carry_limit_g,
                "min_pickup_g": digester.min_pickup_g,
                "min_vs_g": digester.min_vs_g,
                "recent_fill_ppm": digester.recent_fill_ppm,
                "share_caps": [
                    {"group": cap.group, "share_ppm": cap.share_ppm, "basis": cap.basis}
                    for cap in digester.share_caps
                ],
                "stock": [
                    {
                        "lot": lot.code,
                        "material": lot.material,
                        "amount_g": lot.amount_g,
                        "feed_by_on": _date(problem, lot.feed_by_day),
                    }
                    for lot in digester.stock
                ],
                "hours": digester_hours.get(digester.code),
            }
            for digester in sorted(problem.digesters, key=lambda each: each.code)
        ],
        "digester_days": _digester_days(problem, facts),
        "sources": [
            {
                "code": source.code,
                "name": names.sources.get(source.code, source.code),
                "max_homes_per_day": source.max_homes_per_day,
                "waited_days": source.waited_days,
                "hours": source_hours.get(source.code),
            }
            for source in sorted(problem.sources, key=lambda each: each.code)
        ],
        "batches": [
            {
                "code": batch.code,
                "source": batch.source,
                "material": batch.material,
                "amount_g": batch.amount_g,
                "low_g": batch.amount_g if batch.low_g is None else batch.low_g,
                "high_g": batch.amount_g if batch.high_g is None else batch.high_g,
                "ready_on": _date(problem, batch.ready_day),
                "collect_by_on": _date(problem, batch.collect_by_day),
                "feed_by_on": _date(problem, batch.feed_by_day),
                "divisible": batch.divisible,
            }
            for batch in sorted(problem.batches, key=lambda each: each.code)
        ],
        "pairs": [
            {
                "source": pair.source,
                "digester": pair.digester,
                "distance_m": pair.distance_m,
                "meets_on": [
                    _date(problem, day) for day, meets in enumerate(pair.meets_on_day) if meets
                ],
                "steady": pair.steady,
                "usable_ppm": pair.usable_ppm,
            }
            for pair in sorted(problem.pairs, key=lambda each: (each.source, each.digester))
        ],
        "destinations": [
            {
                "code": place.code,
                "name": place.name,
                "capacity_g_per_day": place.capacity_g_per_day,
            }
            for place in sorted(facts.destinations, key=lambda each: each.code)
        ],
        "pins": [
            {
                "batch": pin.batch,
                "digester": pin.digester,
                "on": _date(problem, pin.day),
                "amount_g": pin.amount_g,
            }
            for pin in problem.pins
        ],
        "bans": [
            {
                "source": ban.source,
                "digester": ban.digester,
                "on": None if ban.day is None else _date(problem, ban.day),
            }
            for ban in problem.bans
        ],
        "started": [_placement(problem, each) for each in problem.started],
        "previous": [_placement(problem, each) for each in problem.previous],
    }


def _hours_by_code(
    problem: Problem, hours: Sequence[OpenHours]
) -> dict[str, dict[str, list[list[str]]]]:
    by_code: dict[str, dict[str, list[list[str]]]] = {}
    for each in hours:
        days = by_code.setdefault(each.code, {})
        days[_date(problem, each.day)] = [list(stretch) for stretch in each.stretches]
    return by_code


def _digester_days(problem: Problem, facts: PlanFacts) -> list[Document]:
    materials = {material.code: material for material in problem.materials}
    stored = {(each.digester, each.day): each for each in facts.digester_days}
    return [
        _digester_day(problem, materials, digester, day, stored.get((digester.code, day)))
        for digester in sorted(problem.digesters, key=lambda each: each.code)
        for day in range(problem.days)
    ]


def _digester_day(
    problem: Problem,
    materials: Mapping[str, Material],
    digester: Digester,
    day: int,
    stored: DigesterDayFacts | None,
) -> Document:
    own = [waste for waste in digester.own_waste if waste.day == day]
    cap = digester.caps[day]
    if stored is None:
        stored = DigesterDayFacts(
            digester=digester.code,
            day=day,
            max_feed_g=cap.feed_g + sum(waste.amount_g for waste in own),
            max_vs_g=cap.vs_g
            + -(-sum(waste.amount_g * materials[waste.material].vs_ppm for waste in own) // PPM),
            max_slurry_ml=cap.slurry_ml
            + -(
                -sum(waste.amount_g * materials[waste.material].slurry_ppm for waste in own) // PPM
            ),
        )
    return {
        "digester": digester.code,
        "on": _date(problem, day),
        "max_feed_g": stored.max_feed_g,
        "max_vs_g": stored.max_vs_g,
        "max_slurry_ml": stored.max_slurry_ml,
        "plan_feed_g": cap.feed_g,
        "plan_vs_g": cap.vs_g,
        "plan_slurry_ml": cap.slurry_ml,
        "target_vs_g": digester.target_vs_g[day],
        "own_waste": [
            {"material": waste.material, "amount_g": waste.amount_g}
            for waste in sorted(own, key=lambda each: each.material)
        ],
        "binding_rule": stored.binding_rule,
        "rule_source": stored.rule_source,
    }


def _placement(problem: Problem, placement: Placement) -> Document:
    return {
        "batch": placement.batch,
        "digester": placement.digester,
        "on": _date(problem, placement.day),
        "amount_g": placement.amount_g,
    }


@dataclass(frozen=True, slots=True)
class _Lot:
    source: str
    """Empty for stock that is in a bin already."""
    material: str


def _lots(problem: Problem) -> dict[str, _Lot]:
    stock = {
        lot.code: _Lot("", lot.material) for digester in problem.digesters for lot in digester.stock
    }
    return stock | {batch.code: _Lot(batch.source, batch.material) for batch in problem.batches}


def _left_over(
    problem: Problem, result: Result, facts: PlanFacts, lots: Mapping[str, _Lot]
) -> list[Document]:
    notes = {note.batch: note for note in facts.left_over}
    sendings = {sending.batch: sending for sending in facts.sendings}
    names = {place.code: place.name for place in facts.destinations}
    rows = []
    for left in sorted(result.left_over, key=lambda each: each.batch):
        note = notes.get(left.batch) or LeftOverNote(left.batch, "", "")
        sending = sendings.get(left.batch)
        code = sending.destination if sending else None
        rows.append(
            {
                "lot": left.batch,
                "source": lots[left.batch].source or None,
                "material": lots[left.batch].material,
                "amount_g": left.amount_g,
                "reason_code": note.reason_code,
                "reason": note.reason,
                "smallest_change": note.smallest_change,
                "destination": names.get(code, code) if code else note.destination,
                "destination_code": code,
                "goes_on": _date(problem, sending.day) if sending else None,
            }
        )
    return rows


def _outputs(problem: Problem, result: Result, facts: PlanFacts) -> Document:
    lots = _lots(problem)
    usable_ppm = {(pair.source, pair.digester): pair.usable_ppm for pair in problem.pairs}

    def usable_g(lot: str, digester: str, amount_g: int) -> int:
        return amount_g * usable_ppm.get((lots[lot].source, digester), PPM) // PPM

    placements = [
        _placement(problem, each)
        | {
            "source": lots[each.batch].source,
            "usable_g": usable_g(each.batch, each.digester, each.amount_g),
        }
        for each in sorted(
            result.placements, key=lambda each: (each.digester, each.day, each.batch)
        )
    ]
    feeds = [
        {
            "digester": feed.digester,
            "on": _date(problem, feed.day),
            "lot": feed.lot,
            "material": lots[feed.lot].material,
            "amount_g": feed.amount_g,
            "usable_g": usable_g(feed.lot, feed.digester, feed.amount_g),
        }
        for feed in sorted(result.feeds, key=lambda each: (each.digester, each.day, each.lot))
    ]
    return {
        "placements": placements,
        "feeds": feeds,
        "recipes": [
            {
                "digester": recipe.digester,
                "on": _date(problem, recipe.day),
                "water_ml": recipe.water_ml,
                "words": recipe.words,
                "in_measures": [asdict(each) for each in recipe.in_measures],
            }
            for recipe in sorted(facts.recipes, key=lambda each: (each.digester, each.day))
        ],
        "left_over": _left_over(problem, result, facts, lots),
        "wishes": [
            {"name": wish.name, "value": wish.value, "bound": wish.bound} for wish in result.wishes
        ],
        "provenance": {
            "seed": result.provenance.seed,
            "iterations": result.provenance.iterations,
            "engine": result.provenance.engine,
            "input_hash": result.provenance.input_hash,
            "stopped_by": result.provenance.stopped_by,
        },
    }
