"""A person is told why the plan leaves a steady pair of theirs."""

from __future__ import annotations

from apps.planning.core.reason_words import BLOCKED, STEADY_ELSEWHERE
from apps.planning.models import Ban, Plan, SteadyPair
from apps.planning.operations.make_plan import make_plan
from apps.planning.queries.member_notes import MemberNotes, member_notes
from tests.cast import Cast


def planned(cast: Cast, *, banned: bool) -> Plan:
    """The stall and the drum are steady; with a ban the drum may not have the stall's waste."""
    pair = {"source": cast.quay_stall, "digester": cast.drum}
    SteadyPair.unscoped.get_or_create(group=cast.group, **pair)
    if banned:
        Ban.unscoped.create(group=cast.group, asked_at=cast.now, **pair)
    plan = make_plan(cast.group, now=cast.now)
    assert plan.assignments.filter(source=cast.quay_stall).exists()
    return plan


def notes(cast: Cast, plan: Plan) -> tuple[MemberNotes, MemberNotes]:
    """For the stall's contact, and for the drum's household."""
    giver, household = cast.quay_stall.contact, cast.drum.household
    assert giver is not None
    assert household is not None
    return (
        member_notes(plan, giver, []),
        member_notes(plan, household, [cast.drum.code]),
    )


def test_both_ends_are_told_why_a_steady_pair_is_left(cast: Cast) -> None:
    stall, drum = notes(cast, planned(cast, banned=True))
    for said in (stall.sources["quay-stall"], drum.homes["duarte-drum"][-2:]):
        assert [each.template for each in said] == [STEADY_ELSEWHERE, BLOCKED["banned"]]


def test_a_pair_that_stays_together_needs_no_words(cast: Cast) -> None:
    plan = planned(cast, banned=False)
    assert plan.assignments.filter(source=cast.quay_stall, digester=cast.drum).exists()
    stall, drum = notes(cast, plan)
    assert not stall.sources
    assert not any(
        each.template == STEADY_ELSEWHERE for said in drum.homes.values() for each in said
    )
