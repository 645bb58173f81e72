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

Documents grew without a new version; what older ones lack: `rules.smallest_part_g` and
`smallest_portion_g` (then there was no such rule), a batch's `low_g` and `high_g` (then its
amount), `rules.trip_g_m` (then 1,000,000 where batches state no `low_g`, 200,000 where they do).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta

from apps.planning.core.export_outputs import date_of, placement_row, plan_outputs
from apps.planning.core.plan_facts import DigesterDayFacts, Document, Names, OpenHours, PlanFacts
from apps.planning.core.problem import PPM, Digester, Material, Problem
from apps.planning.core.result import Result

SCHEMA = "neighbourhood-feed-plan"
SCHEMA_VERSION = 1


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
            "smallest_portion_g": problem.rules.smallest_portion_g,
            "trip_g_m": problem.rules.trip_g_m,
            "reach_m": facts.reach_m,
        },
        **_inputs(problem, names, facts),
        **plan_outputs(problem, result, facts),
    }


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
                        "feed_by_on": date_of(problem, lot.feed_by_day),
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
                "ready_on": date_of(problem, batch.ready_day),
                "collect_by_on": date_of(problem, batch.collect_by_day),
                "feed_by_on": date_of(problem, batch.feed_by_day),
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
                    date_of(problem, day) for day, meets in enumerate(pair.meets_on_day) if meets
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
                "on": date_of(problem, pin.day),
                "amount_g": pin.amount_g,
            }
            for pin in problem.pins
        ],
        "bans": [
            {
                "source": ban.source,
                "digester": ban.digester,
                "on": None if ban.day is None else date_of(problem, ban.day),
            }
            for ban in problem.bans
        ],
        "started": [placement_row(problem, each) for each in problem.started],
        "previous": [placement_row(problem, each) for each in problem.previous],
    }


def _hours_by_code(
    problem: Problem, hours: Sequence[OpenHours]
) -> dict[str, dict[str, list[list[str]]]]:
    by_code: dict[str, dict[str, list[list[str]]]] = {}
    for each in hours:
        days = by_code.setdefault(each.code, {})
        days[date_of(problem, each.day)] = [list(stretch) for stretch in each.stretches]
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
        "on": date_of(problem, day),
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
