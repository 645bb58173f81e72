"""The outputs of an exported plan: what goes where, what is fed, what is left over, how good."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, timedelta

from apps.planning.core.plan_facts import Document, LeftOverNote, PlanFacts
from apps.planning.core.problem import PPM, Placement, Problem
from apps.planning.core.result import Result


def date_of(problem: Problem, day: int) -> str:
    """Days may lie before or after the horizon; dates outside the calendar stop at its ends."""
    try:
        return (problem.starts_on + timedelta(days=day)).isoformat()
    except OverflowError:
        return (date.max if day > 0 else date.min).isoformat()


def placement_row(problem: Problem, placement: Placement) -> Document:
    return {
        "batch": placement.batch,
        "digester": placement.digester,
        "on": date_of(problem, placement.day),
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
                "goes_on": date_of(problem, sending.day) if sending else None,
            }
        )
    return rows


def plan_outputs(problem: Problem, result: Result, facts: PlanFacts) -> Document:
    lots = _lots(problem)
    usable_ppm = {(pair.source, pair.digester): pair.usable_ppm for pair in problem.pairs}

    def usable_g(lot: str, digester: str, amount_g: int) -> int:
        return amount_g * usable_ppm.get((lots[lot].source, digester), PPM) // PPM

    placements = [
        placement_row(problem, each)
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
            "on": date_of(problem, feed.day),
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
                "on": date_of(problem, recipe.day),
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
