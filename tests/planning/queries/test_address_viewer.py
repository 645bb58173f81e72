"""The two ends of an announced assignment see each other's address, a day before and after."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from apps.people.models import Role
from apps.planning.models import Assignment, Plan, PlanStatus
from apps.planning.queries.address_viewer import address_viewer
from tests.cast import Cast

pytestmark = pytest.mark.django_db

BEGINS_AT = datetime(2026, 5, 13, 7, 0, tzinfo=UTC)
"""08:00 in Lisbon in summer time, in UTC."""
ENDS_AT = datetime(2026, 5, 13, 18, 0, tzinfo=UTC)


@pytest.fixture
def assignment(cast: Cast) -> Assignment:
    """Filipe's vegetables to Duarte on Wednesday, 8:00 to 19:00 by Lisbon's clock."""
    plan = Plan.unscoped.create(
        group=cast.group,
        version=1,
        status=PlanStatus.ANNOUNCED,
        starts_on=BEGINS_AT.date(),
        made_at=cast.now,
        document={},
    )
    made: Assignment = Assignment.unscoped.create(
        group=cast.group,
        plan=plan,
        stream=cast.vegetables,
        source=cast.quay_stall,
        digester=cast.drum,
        batch_on=BEGINS_AT.date(),
        on=BEGINS_AT.date(),
        amount_g=1000,
        distance_m=500,
        from_min=8 * 60,
        till_min=19 * 60,
    )
    return made


DAY = timedelta(hours=24)
MOMENT = timedelta(seconds=1)


@pytest.mark.parametrize(
    ("now", "matched"),
    [
        (BEGINS_AT - DAY - MOMENT, False),
        (BEGINS_AT - DAY, True),
        (BEGINS_AT, True),
        (ENDS_AT + DAY, True),
        (ENDS_AT + DAY + MOMENT, False),
    ],
)
def test_from_a_day_before_until_a_day_after(
    cast: Cast, assignment: Assignment, now: datetime, matched: bool
) -> None:
    ends = {cast.quay_stall.place_id, cast.drum.place_id}
    for member, own in ((cast.duarte, cast.drum.place_id), (cast.filipe, cast.quay_stall.place_id)):
        viewer = address_viewer(cast.group, member, frozenset({Role.HOUSEHOLDER}), now=now)
        assert viewer.own_place_ids == {own}
        assert viewer.matched_place_ids == (ends if matched else set())
    other = address_viewer(cast.group, cast.elsa, frozenset({Role.HOUSEHOLDER}), now=now)
    assert other.matched_place_ids == set()


def test_a_draft_matches_nobody(cast: Cast, assignment: Assignment) -> None:
    Plan.unscoped.update(status=PlanStatus.DRAFT)
    viewer = address_viewer(cast.group, cast.duarte, frozenset(), now=BEGINS_AT)
    assert viewer.matched_place_ids == set()


def test_it_takes_four_queries(
    cast: Cast, assignment: Assignment, django_assert_num_queries: object
) -> None:
    with django_assert_num_queries(4):  # type: ignore[operator]
        address_viewer(cast.group, cast.duarte, frozenset(), now=BEGINS_AT)
