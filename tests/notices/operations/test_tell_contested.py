"""A contested weight reaches both sides and the coordinator; what was settled, both sides."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.groups.models import Work
from apps.groups.operations.do_work import do_work
from apps.notices.models import Notice
from apps.notices.wording import word_notice
from apps.pickups.core.life import COMPLETE, CONTEST, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.operations.contest_weight import contest_weight
from apps.pickups.operations.settle_weight import settle_weight
from apps.pickups.operations.state_weight import state_weight
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from tests.cast import make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast():
    cast = make_cast(history_days=0)
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)]), now=cast.now)
    return cast


def told(cast, kind: str) -> dict[str, str]:
    """Text by person, after the work that follows was done."""
    for work in Work.objects.of(cast.group).filter(kind__in=("tell_contested", "tell_settled")):
        Work.unscoped.filter(pk=work.pk).update(due_at=cast.now - timedelta(days=400))
        do_work(work.pk)
    return {
        each.member.code: word_notice(each, now=cast.now).text
        for each in Notice.objects.of(cast.group).filter(kind=kind).select_related("group")
    }


def test_whoever_weighs_last_and_finds_another_weight_lets_all_three_know(cast):
    pickup = Pickup.objects.of(cast.group).get()
    then = cast.now + timedelta(days=1)
    state_weight(cast.group, pickup.uuid, 2_000, now=then, stated_by=cast.filipe)
    assert told(cast, "pickup_contested") == {}
    act = Act(COMPLETE, Actor(cast.duarte, Party.FETCHER), "c", then)
    complete_pickup(cast.group, pickup.uuid, act)
    texts = told(cast, "pickup_contested")
    assert set(texts) == {"filipe", "duarte", "carla"}
    assert "2 kg says who gave it" in texts["carla"]
    assert "3 kg says who fetched it" in texts["filipe"]
    settle_weight(
        cast.group, pickup.uuid, giver_is_right=True, now=then, settled_by=cast.carla,
        client_key="s",
    )  # fmt: skip
    texts = told(cast, "pickup_settled")
    assert set(texts) == {"filipe", "duarte"}
    assert "2 kg counts" in texts["duarte"]


def test_a_tap_that_the_weight_is_wrong_does_too(cast):
    pickup = Pickup.objects.of(cast.group).get()
    then = cast.now + timedelta(days=1)
    act = Act(COMPLETE, Actor(cast.duarte, Party.FETCHER), "c", then)
    complete_pickup(cast.group, pickup.uuid, act)
    contest_weight(
        cast.group, pickup.uuid, Act(CONTEST, Actor(cast.filipe, Party.GIVER), "x", then)
    )
    assert set(told(cast, "pickup_contested")) == {"filipe", "duarte", "carla"}
