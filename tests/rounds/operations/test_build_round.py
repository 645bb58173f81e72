"""Building rounds: what is in them, what is left out, and what is refused."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.kernel.errors import Refused
from apps.pickups.models import Pickup
from apps.places.models import Place
from apps.places.operations.save_place import Window, save_place
from apps.rounds.models import Carrier, Round, StopSide
from apps.rounds.operations.announce_round import announce_round
from apps.rounds.operations.build_round import build_rounds
from apps.rounds.operations.errors import (
    NothingToCarry,
    RoundRefused,
)
from apps.rounds.operations.save_carrier import CarrierUnfit, RestWish, save_carrier
from apps.rounds.verifier import verify
from tests.rounds.harbour import (
    QUICK,
    Harbour,
    pickup_of,
    waiting,
)

pytestmark = pytest.mark.django_db


def test_a_round_holds_every_open_pickup_once_and_is_sound(harbour):
    found = harbour.build()
    stops = waiting(found)
    assert [stop.number for stop in stops] == list(range(1, 7))
    assert {(s.pickup_id, s.side) for s in stops} == {
        (p.pk, side) for p in Pickup.objects.of(harbour.cast.group) for side in StopSide.values
    }
    assert verify(found.document) == []
    assert found.left == []
    assert found.figures["metres"] > 0
    assert found.figures["own"]["people"] == 2


def test_building_again_gives_the_same_round_with_the_same_row(harbour):
    one = harbour.build()
    before = [(s.pickup_id, s.side, s.begin_s) for s in waiting(one)]
    other = harbour.build()
    assert other.pk == one.pk
    assert [(s.pickup_id, s.side, s.begin_s) for s in waiting(other)] == before


def test_two_rounds_never_hold_one_pickup(harbour):
    harbour.build()
    other = save_carrier(harbour.cast.group, harbour.cast.heitor, start=harbour.carrier.start)
    with pytest.raises(NothingToCarry):
        Harbour(harbour.cast, other, harbour.on, harbour.then).build()
    with pytest.raises(RoundRefused, match="another round"):
        Harbour(harbour.cast, other, harbour.on, harbour.then).build(
            pickups=list(Pickup.objects.of(harbour.cast.group))
        )
    assert Round.objects.of(harbour.cast.group).count() == 1


def test_what_cannot_be_done_is_left_out_with_a_reason(harbour):
    group = harbour.cast.group
    save_place(
        group,
        code="school",
        name="Kitchen",
        latitude=harbour.cast.school_canteen.place.latitude,
        longitude=harbour.cast.school_canteen.place.longitude,
        hours=[Window(day, 16 * 60, 17 * 60) for day in range(7)],
    )
    found = harbour.build()
    [left] = found.left
    assert left["pickup"] == str(pickup_of(harbour, "school-canteen", harbour.cast.dome.code).uuid)
    assert left["template"] % left["values"] == (
        "Left out: School canteen is not open while Graca is out."
    )
    assert len(waiting(found)) == 4


def test_a_cart_too_small_leaves_the_heavy_one(harbour):
    save_carrier(
        harbour.cast.group, harbour.cast.graca, start=harbour.carrier.start, load_limit_g=4_000
    )
    harbour.carrier.refresh_from_db()
    found = harbour.build()
    assert [left["why"] for left in found.left] == ["load"]
    assert verify(found.document) == []


@pytest.mark.parametrize(
    "wrong", [{"load_limit_g": 0}, {"from_min": 600, "till_min": 600}, {"load_limit_g": 10**7}]
)
def test_a_carrier_who_cannot_carry_is_refused(harbour, wrong):
    with pytest.raises(Refused):
        save_carrier(harbour.cast.group, harbour.cast.graca, start=harbour.carrier.start, **wrong)


def test_a_carrier_does_not_start_where_they_do_not_go(harbour):
    start = harbour.carrier.start
    with pytest.raises(CarrierUnfit, match="start or end"):
        save_carrier(harbour.cast.group, harbour.cast.graca, start=start, avoids=[start])


def test_a_place_that_is_avoided_is_not_in_the_round(harbour):
    stall = harbour.cast.quay_stall.place
    save_carrier(
        harbour.cast.group,
        harbour.cast.graca,
        start=harbour.carrier.start,
        avoids=[stall],
        rest=RestWish(9 * 60, 11 * 60, 15),
    )
    harbour.carrier = Carrier.objects.of(harbour.cast.group).get()
    found = harbour.build()
    assert {left["why"] for left in found.left} == {"avoid"}
    assert len(waiting(found)) == 2
    assert len(found.figures["rests"]) == 1


def test_a_day_that_is_over_or_hours_that_do_not_last_are_refused(harbour):
    with pytest.raises(NothingToCarry, match="before it begins"):
        harbour.build(from_min=600, till_min=600)
    harbour.on -= timedelta(days=5)
    with pytest.raises(NothingToCarry, match="over"):
        harbour.build()


def test_two_carriers_share_the_day_and_building_one_alone_takes_what_is_free(harbour):
    group, now = harbour.cast.group, harbour.cast.now
    start = Place.objects.of(group).get(code="school")
    other = save_carrier(group, harbour.cast.elsa, start=start, moving="cargo_bike")
    asked = {"now": now, "built_by": harbour.cast.bruno, "effort": QUICK}
    for _time in range(2):
        made = build_rounds(group, [harbour.carrier, other], harbour.on, **asked)
        pickups = [stop.pickup_id for each in made for stop in waiting(each)]
        assert sorted(pickups) == sorted(2 * [each.pk for each in Pickup.objects.of(group)])
        assert all(verify(each.document) == [] for each in made)
    for each in made:
        announce_round(group, each.uuid, now=now, announced_by=None, is_confirmed=True)
    with pytest.raises(RoundRefused, match="already has an announced round"):
        build_rounds(group, [other, harbour.carrier], harbour.on, **asked)


def test_who_is_not_needed_gets_no_round_and_loses_an_old_draft(harbour):
    group, now = harbour.cast.group, harbour.cast.now
    start = Place.objects.of(group).get(code="heitor-home")
    idle = save_carrier(group, harbour.cast.elsa, start=start, load_limit_g=1_000)
    harbour.build()
    made = build_rounds(
        group, [idle, harbour.carrier], harbour.on, now=now, built_by=None, effort=QUICK
    )
    assert [each.carrier for each in made] == [harbour.carrier]
    with pytest.raises(NothingToCarry, match="None of them"):
        build_rounds(
            group, [idle, harbour.carrier], harbour.on, now=now, built_by=None, effort=QUICK,
            from_min=0, till_min=1,
        )  # fmt: skip
    assert len(waiting(made[0])) == 6
