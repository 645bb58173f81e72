"""Why a pin cannot be kept, whatever else a plan does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from apps.kernel.sentences import Sentence
from apps.planning.core.home import Passed
from apps.planning.core.passed_words import say_passed
from apps.planning.core.problem import Pin, Problem
from apps.planning.core.result import LeftOver, Provenance, Result
from apps.planning.core.what_if import Change, what_if
from apps.planning.queries.build_problem import Built
from apps.planning.queries.compose_plan import plan_names

ALONE = frozenset(
    {
        "too_far",
        "hours_never_meet",
        "material_refused",
        "banned",
        "too_late",
        "collect_window",
        "batch_amount",
        "source_homes",
    }
)
TOGETHER = frozenset({"day_maximum", "bin", "visits", "carry_limit"})
"""Rules that nothing else in a plan can make room for. Share caps and smallest pickups are left
out: another batch beside the pinned one may put them right."""


def pin_contradictions(built: Built, wanted: Pin) -> Sequence[Sentence]:
    """All pins are put into a plan with nothing else in it; what they pass then, they always
    pass. Only what concerns the home, source or batch of `wanted` is told."""
    bare = replace(built.problem, pins=(), started=(), previous=())
    before = _kept(bare, tuple(pin for pin in built.problem.pins if pin != wanted))
    after = _kept(bare, built.problem.pins)
    names = plan_names(built)
    new = sorted(after - before, key=lambda each: (each.day, each.rule, each.what))
    return [say_passed(each, bare, names) for each in new]


def _kept(bare: Problem, pins: tuple[Pin, ...]) -> set[Passed]:
    empty = Result(
        (),
        (),
        tuple(LeftOver(batch.code, batch.amount_g) for batch in bare.batches),
        (),
        Provenance(0, 0, "", "", ""),
    )
    found = what_if(bare, empty, Change(pins=pins))
    return {each for each in found.would_pass if each.rule in ALONE} | {
        each for each in found.cannot_keep if each.rule in TOGETHER
    }
