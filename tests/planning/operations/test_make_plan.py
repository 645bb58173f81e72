"""Drafts made of a group's own rows."""

from __future__ import annotations

from apps.planning.operations.make_plan import make_plan
from apps.planning.verifier.verify import verify
from tests.cast import Cast


def test_a_draft_passes_the_verifier(cast: Cast) -> None:
    plan = make_plan(cast.group, now=cast.now, made_by=cast.bruno)
    assert verify(plan.document) == []
    assert plan.assignments.count() > 0
