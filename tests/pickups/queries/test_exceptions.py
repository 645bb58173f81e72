"""First things first for the coordinator."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.digesters.operations.feed_digester import feed_digester
from apps.ledger.operations.record_collection import record_collection
from apps.pickups.core.life import ACCEPT, COLLECT, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import accept_pickup, collect_pickup
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.digester_picture import digester_picture
from apps.pickups.queries.exceptions import REPAIRS, Kind, todays_exceptions
from tests.cast import make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast():
    """With a short history, and two pickups tomorrow."""
    cast = make_cast(history_days=15)
    plan = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_000), (cast.vegetables, cast.dome, 0, 4_000)]
    )
    sync_pickups(plan, now=cast.now)
    return cast


def kinds(cast, later: timedelta) -> list[Kind]:
    return [each.kind for each in todays_exceptions(cast.group, now=cast.now + later)]


def step(cast, which, key, later=timedelta(hours=15)) -> Act:
    return Act(which, Actor(cast.duarte, Party.FETCHER), key, cast.now + later)


def test_unanswered_then_late_then_on_the_way_for_too_long(cast):
    morning, afternoon = timedelta(hours=15), timedelta(hours=20)  # window 9:00 to 12:00
    duartes = Pickup.objects.of(cast.group).get(digester=cast.drum)
    assert kinds(cast, morning).count(Kind.NOT_ANSWERED) == 2
    accept_pickup(cast.group, duartes.uuid, step(cast, ACCEPT, "a"))
    assert kinds(cast, morning).count(Kind.NOT_ANSWERED) == 1
    assert kinds(cast, afternoon).count(Kind.LATE) == 2
    collect_pickup(cast.group, duartes.uuid, step(cast, COLLECT, "b"))
    assert kinds(cast, timedelta(hours=16)).count(Kind.LATE) == 0
    assert kinds(cast, timedelta(hours=18)).count(Kind.LATE) == 1


def test_overfed_old_stock_and_hungry_come_in_their_order(cast):
    veg = cast.materials["veg_market_mixed"]
    feed_digester(
        cast.drum,
        from_bin_g={veg: 12_000},
        own_waste_g={},
        water_ml=0,
        fed_at=cast.now,
        now=cast.now,
        client_key="over",
        is_confirmed=True,
    )
    record_collection(
        cast.group,
        source_account=cast.school_canteen.account,
        bin_account=cast.dome.bin_account,
        delivered_g={cast.materials["potato_tuber_peel"]: 1_000},
        rejected_g={},
        happened_at=cast.now - timedelta(days=9),
        now=cast.now,
        client_key="old",
    )
    found = todays_exceptions(cast.group, now=cast.now)
    assert [each.kind for each in found] == sorted(each.kind for each in found)
    said = {each.kind: str(each.sentence) for each in found}
    assert "Duarte's digester was fed over" in said[Kind.OVERFED]
    assert "1 kg in the bin of Elsa's digester came on 2026-05-02" in said[Kind.BIN_TOO_OLD]
    later = todays_exceptions(cast.group, now=cast.now + timedelta(days=6))
    assert Kind.HUNGRY in {each.kind for each in later}
    assert all(each.repairs for each in later)
    assert set(REPAIRS) == set(Kind)


def test_the_picture_of_a_digester_holds_what_went_in_what_fits_and_the_week(cast):
    picture = digester_picture(cast.drum, now=cast.now)
    yesterday = picture.fed[-2]
    assert sum(yesterday.fed_g.values()) == 2_500  # the cast's history
    assert yesterday.water_ml == 2_500 * 7 // 3
    assert picture.spare_g >= 0
    assert str(picture.binding.sentence)
    tomorrow = cast.today + timedelta(days=1)
    assert [each.source for each in picture.pickups[tomorrow]] == [cast.quay_stall]
    assert picture.gas is None
    assert picture.not_to_light is None
