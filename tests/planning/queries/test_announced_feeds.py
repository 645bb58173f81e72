"""What the announced plan feeds, as the digesters' model is told."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.planning.models import Plan, PlanStatus
from apps.planning.operations.make_plan import make_plan
from apps.planning.queries.announced_feeds import announced_feeds
from tests.cast import Cast


@pytest.fixture
def plan(cast: Cast) -> Plan:
    made = make_plan(cast.group, now=cast.now)
    Plan.unscoped.filter(pk=made.pk).update(status=PlanStatus.ANNOUNCED)
    return made


def test_it_is_the_plan_and_own_waste_of_those_asked_for(cast: Cast, plan: Plan) -> None:
    code = cast.drum.code
    found = announced_feeds(cast.group, cast.today, [code, "nobody"])
    assert set(found) <= {code}
    fed_g = sum(
        feed["usable_g"]
        for feed in plan.document["feeds"]
        if feed["digester"] == code and date.fromisoformat(feed["on"]) > cast.today
    )
    own_g = sum(
        own["amount_g"]
        for day in plan.document["digester_days"]
        if day["digester"] == code and date.fromisoformat(day["on"]) > cast.today
        for own in day["own_waste"]
    )
    assert sum(sum(grams.values()) for grams in found[code].values()) == fed_g + own_g > 0
    late = announced_feeds(cast.group, cast.today + timedelta(days=3), [code])
    assert min(late[code]) == cast.today + timedelta(days=4)
    assert not announced_feeds(cast.group, cast.today + timedelta(days=30), [code])


def test_its_document_is_read_once_for_all_pieces_of_an_evening(cast: Cast, plan: Plan) -> None:
    def statements() -> int:
        with CaptureQueriesContext(connection) as captured:
            announced_feeds(cast.group, cast.today, [cast.drum.code])
        return len(captured)

    assert [statements() for _ in range(3)] == [2, 1, 1]


def test_the_next_plan_takes_its_place_at_once(cast: Cast, plan: Plan) -> None:
    assert announced_feeds(cast.group, cast.today, [cast.drum.code])
    Plan.unscoped.filter(pk=plan.pk).update(status=PlanStatus.SUPERSEDED)
    assert announced_feeds(cast.group, cast.today, [cast.drum.code]) == {}
