"""Drafts made of a group's own rows, and what is said when none can be made."""

from __future__ import annotations

from typing import Any

import pytest

from apps.planning.core.check_problem import Fault, ProblemError
from apps.planning.core.problem import Pin, Problem
from apps.planning.operations import make_plan as story
from apps.planning.operations.make_plan import PlanImpossible, make_plan
from apps.planning.verifier.verify import verify
from tests.cast import Cast


def test_a_draft_passes_the_verifier(cast: Cast) -> None:
    plan = make_plan(cast.group, now=cast.now, made_by=cast.bruno)
    assert verify(plan.document) == []
    assert plan.assignments.count() > 0


def test_pins_that_contradict_are_named_as_people_know_them(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def contradicted(problem: Problem, **_: Any) -> None:
        batch = next(b for b in problem.batches if b.source == cast.quay_stall.code)
        pin = Pin(batch.code, cast.drum.code, 0)
        raise ProblemError([Fault("pins", "cannot all be kept.")], [pin])

    monkeypatch.setattr(story, "solve", contradicted)
    with pytest.raises(PlanImpossible) as refused:
        make_plan(cast.group, now=cast.now)
    said = str(refused.value)
    for name in (cast.quay_stall.name, cast.drum.name, "Tue 12 May"):
        assert name in said
    assert "@" not in said, "no codes"
    assert refused.value.figures["pins_to_lift"][0]["digester"] == cast.drum.code
