"""A round from building it to its last stop, and everything that is refused on the way."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db.models import Sum
from django.http import Http404

from apps.groups.models import Fact, Work
from apps.kernel.errors import Refused
from apps.ledger.models import AccountKind, Balance, Movement
from apps.ledger.queries.balances import balances_g
from apps.pickups.core.life import COMPLETE, FAIL, WITHDRAW, Party, State
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.complete_pickup import NotYet, WeightUnusual, complete_pickup
from apps.pickups.operations.take_step import Act, Actor, KeyUsedElsewhere, take_step
from apps.places.models import Place
from apps.places.operations.save_place import Window, save_place
from apps.rounds.models import Carrier, Round, RoundEvent, RoundState, StopSide, StopState
from apps.rounds.operations.announce_round import announce_round, drop_round
from apps.rounds.operations.build_round import build_rounds
from apps.rounds.operations.change_order import lock_stop, move_stop
from apps.rounds.operations.errors import (
    LiftingCaution,
    NothingToCarry,
    OrderImpossible,
    RoundRefused,
    StopRefused,
)
from apps.rounds.operations.make_round_link import make_round_link
from apps.rounds.operations.mend_round import mend_round
from apps.rounds.operations.note_stop import note_stop_done, note_stop_problem
from apps.rounds.operations.replan_round import replan_round
from apps.rounds.operations.save_carrier import CarrierUnfit, RestWish, save_carrier
from apps.rounds.queries.open_round_link import RoundLinkOver, open_round_link
from apps.rounds.verifier import verify
from tests.rounds.harbour import QUICK, Harbour, make_harbour, pickup_of, waiting

pytestmark = pytest.mark.django_db


@pytest.fixture
def harbour() -> Harbour:
    """Three pickups of tomorrow; Graça has a cart."""
    return make_harbour()


def on_cart_g(harbour: Harbour) -> int:
    """What the ledger has in Graça's account."""
    account = harbour.carrier.account_id
    return sum(balances_g(harbour.cast.group, [account]).get(account, {}).values())


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


def test_announcing_makes_the_carrier_the_one_who_fetches(harbour):
    found = harbour.announced()
    assert found.state == RoundState.ANNOUNCED
    assert set(Pickup.objects.of(harbour.cast.group).values_list("fetcher__code", flat=True)) == {
        "graca"
    }
    assert Fact.objects.of(harbour.cast.group).filter(kind="round_announced").count() == 1
    again = announce_round(
        harbour.cast.group, found.uuid, now=harbour.cast.now, announced_by=harbour.cast.bruno
    )
    assert again.version == found.version
    assert Fact.objects.of(harbour.cast.group).filter(kind="round_announced").count() == 1


def test_lifting_cautions_are_read_before_announcing(harbour):
    type(harbour.cast.graca).unscoped.filter(pk=harbour.cast.graca.pk).update(carry_limit_g=2_500)
    harbour.carrier = Carrier.objects.of(harbour.cast.group).get()
    found = harbour.build()
    assert found.figures["cautions"]
    with pytest.raises(LiftingCaution):
        announce_round(
            harbour.cast.group, found.uuid, now=harbour.cast.now, announced_by=harbour.cast.bruno
        )


def test_a_plan_that_changed_meanwhile_stops_the_announcing(harbour):
    found = harbour.build()
    pickup = pickup_of(harbour, "school-canteen", harbour.cast.dome.code)
    withdraw(harbour, pickup)
    with pytest.raises(RoundRefused, match="changed since"):
        announce_round(harbour.cast.group, found.uuid, now=harbour.cast.now, announced_by=None)


def withdraw(harbour: Harbour, pickup: Pickup, key: str = "plan") -> None:
    """As a new plan does."""
    act = Act(WITHDRAW, Actor(None, Party.PLAN), key, harbour.then)
    take_step(harbour.cast.group, pickup.uuid, act)


def test_the_whole_round_and_where_the_grams_are(harbour):
    found = harbour.announced()
    group = harbour.cast.group
    load_g = 0
    for stop in waiting(found):
        amount_g = sum(line.planned_g for line in stop.pickup.lines.all())
        load_g += amount_g if stop.side == StopSide.FETCH else -amount_g
        _stop, is_new = note_stop_done(group, stop.uuid, harbour.act(str(stop.uuid)))
        assert is_new
        assert on_cart_g(harbour) == load_g == stop.load_g
    found.refresh_from_db()
    assert found.state == RoundState.OVER
    assert set(Pickup.objects.of(group).values_list("state", flat=True)) == {State.DELIVERED}
    for digester, expected_g in ((harbour.cast.drum, 3_400), (harbour.cast.dome, 7_000)):
        bin_g = Balance.objects.of(group).filter(account=digester.bin_account)
        assert bin_g.aggregate(total=Sum("amount_g"))["total"] == expected_g


def test_the_weight_at_the_stall_is_what_is_carried_and_what_arrives(harbour):
    harbour.announced()
    group = harbour.cast.group
    pickup = pickup_of(harbour, "quay-stall", harbour.cast.drum.code)
    fetch, bring = pickup.round_stops.order_by("number")
    note_stop_done(group, fetch.uuid, harbour.act("f"), amount_g=5_000)
    assert on_cart_g(harbour) == 5_000
    note_stop_done(group, bring.uuid, harbour.act("b"), amount_g=4_500)
    assert on_cart_g(harbour) == 0
    net = Movement.objects.of(group).filter(posting__reverses=None, posting__reversed_by=None)
    by_kind = dict(net.values_list("to_account__kind").annotate(total=Sum("amount_g")))
    assert by_kind == {AccountKind.BIN: 4_500, AccountKind.DISCARDED: 500}


def test_a_tap_sent_twice_counts_once_and_another_tap_is_told(harbour):
    found = harbour.announced()
    group, stop = harbour.cast.group, waiting(found)[0]
    assert note_stop_done(group, stop.uuid, harbour.act("k"))[1]
    before = on_cart_g(harbour)
    assert not note_stop_done(group, stop.uuid, harbour.act("k"))[1]
    with pytest.raises(StopRefused, match="already noted as done at 10:00"):
        note_stop_done(group, stop.uuid, harbour.act("other"))
    with pytest.raises(KeyUsedElsewhere):
        note_stop_problem(group, stop.uuid, harbour.act("k"), reason="other")
    assert on_cart_g(harbour) == before
    assert RoundEvent.objects.of(group).count() == 1


def test_nothing_is_brought_before_it_was_fetched(harbour):
    harbour.announced()
    pickup = pickup_of(harbour, "school-canteen", harbour.cast.dome.code)
    bring = pickup.round_stops.get(side="bring")
    with pytest.raises(StopRefused, match="fetched it at School canteen"):
        note_stop_done(harbour.cast.group, bring.uuid, harbour.act("b"))
    with pytest.raises(StopRefused, match="cannot be brought before"):
        note_stop_problem(harbour.cast.group, bring.uuid, harbour.act("c"), reason="other")
    assert not RoundEvent.objects.of(harbour.cast.group).exists()


def test_a_stop_of_a_withdrawn_pickup_is_refused_in_words(harbour):
    found = harbour.announced()
    stop = waiting(found)[0]
    withdraw(harbour, stop.pickup)
    with pytest.raises(Refused, match="withdrawn because the plan changed"):
        note_stop_done(harbour.cast.group, stop.uuid, harbour.act("k"))
    assert on_cart_g(harbour) == 0


def test_a_round_mends_itself_when_a_pickup_ends_elsewhere(harbour):
    found = harbour.announced()
    group, stop = harbour.cast.group, waiting(found)[0]
    withdraw(harbour, stop.pickup)
    for work in Work.objects.of(group).filter(kind="mend_round"):
        mend_round(work, harbour.then)
    assert {each.pickup_id for each in waiting(found)} == set(
        Pickup.objects.of(group).exclude(pk=stop.pickup_id).values_list("pk", flat=True)
    )
    before = Round.objects.of(group).get().version
    note_stop_problem(group, waiting(found)[0].uuid, harbour.act("p"), reason="nothing_there")
    for work in Work.objects.of(group).filter(kind="mend_round"):
        mend_round(work, harbour.then)
    assert Round.objects.of(group).get().version == before
    withdraw(harbour, waiting(found)[0].pickup, "again")
    for work in Work.objects.of(group).filter(kind="mend_round"):
        mend_round(work, harbour.then)
    found.refresh_from_db()
    assert found.state == RoundState.OVER


def test_not_before_its_day_and_not_before_it_is_announced(harbour):
    draft = harbour.build()
    stop = waiting(draft)[0]
    with pytest.raises(RoundRefused, match="not announced"):
        note_stop_done(harbour.cast.group, stop.uuid, harbour.act("k"))
    harbour.announced()
    stop = waiting(draft)[0]
    with pytest.raises(NotYet):
        note_stop_done(
            harbour.cast.group, stop.uuid, harbour.act("k", happened_at=harbour.cast.now)
        )


def test_three_times_the_plan_is_asked_again_and_nothing_is_no_pickup(harbour):
    found = harbour.announced()
    group, stop = harbour.cast.group, waiting(found)[0]
    with pytest.raises(WeightUnusual):
        note_stop_done(group, stop.uuid, harbour.act("k"), amount_g=90_000)
    with pytest.raises(StopRefused, match="0 kg"):
        note_stop_done(group, stop.uuid, harbour.act("k"), amount_g=0)
    assert note_stop_done(group, stop.uuid, harbour.act("k"), amount_g=90_000, is_confirmed=True)[1]


def test_a_problem_at_a_source_ends_the_pickup_and_the_rest_is_ordered_anew(harbour):
    found = harbour.announced()
    group = harbour.cast.group
    first = waiting(found)[0]
    note_stop_problem(group, first.uuid, harbour.act("p"), reason="nothing_there")
    assert Pickup.unscoped.get(pk=first.pickup_id).state == State.FAILED
    assert found.stops.get(pickup=first.pickup, side="bring").state == StopState.GONE
    again = replan_round(group, found.uuid, now=harbour.then, asked_by=None, effort=QUICK)
    assert verify(again.document) == []
    left = waiting(again)
    assert len(left) == 4
    # Ten in the morning, at the earliest.
    assert left[0].begin_s >= 10 * 3600
    assert left[0].number > first.number
    assert Fact.objects.of(group).filter(kind="round_changed").count() == 1


def test_a_shut_home_leaves_the_load_where_it_is_said_to_go(harbour):
    found = harbour.announced()
    group = harbour.cast.group
    pickup = pickup_of(harbour, "quay-stall", harbour.cast.drum.code)
    fetch, bring = pickup.round_stops.order_by("number")
    note_stop_done(group, fetch.uuid, harbour.act("f"))
    with pytest.raises(StopRefused, match="Say where it went"):
        note_stop_problem(group, bring.uuid, harbour.act("p"), reason="nobody_there")
    note_stop_problem(
        group, bring.uuid, harbour.act("p"), reason="nobody_there", went_to="composted"
    )
    assert on_cart_g(harbour) == 0
    moved = Movement.objects.of(group).filter(to_account__kind=AccountKind.COMPOSTED)
    assert moved.aggregate(total=Sum("amount_g"))["total"] == 3_400
    assert found.stops.get(pk=bring.pk).state == StopState.PROBLEM


def test_replanning_keeps_done_stops_and_brings_what_is_on_the_cart(harbour):
    found = harbour.announced()
    group = harbour.cast.group
    for stop in waiting(found)[:2]:
        note_stop_done(group, stop.uuid, harbour.act(str(stop.uuid)))
    done = list(found.stops.filter(state="done").values_list("uuid", "number", "begin_s"))
    again = replan_round(group, found.uuid, now=harbour.then, asked_by=None, effort=QUICK)
    assert list(again.stops.filter(state="done").values_list("uuid", "number", "begin_s")) == done
    assert [stop.number for stop in waiting(again)] == [3, 4, 5, 6]
    assert verify(again.document) == []
    for stop in waiting(again):
        note_stop_done(group, stop.uuid, harbour.act(str(stop.uuid)))
    again.refresh_from_db()
    assert again.state == RoundState.OVER


def test_a_locked_stop_keeps_its_time(harbour):
    found = harbour.build(from_min=9 * 60)
    last = waiting(found)[-1]
    locked = lock_stop(harbour.cast.group, last.uuid, is_locked=True)
    assert locked.locked_s == last.begin_s
    again = replan_round(
        harbour.cast.group, found.uuid, now=harbour.cast.now, asked_by=None, effort=QUICK
    )
    kept = again.stops.get(pk=last.pk)
    assert abs(kept.begin_s - last.begin_s) <= 600
    assert lock_stop(harbour.cast.group, last.uuid, is_locked=False).locked_s is None


def test_a_stop_is_moved_where_it_can_be_and_refused_where_not(harbour):
    found = harbour.build()
    group, now = harbour.cast.group, harbour.cast.now
    stops = waiting(found)
    brings = [stop for stop in stops if stop.side == "bring"]
    with pytest.raises(OrderImpossible, match="before its waste was fetched"):
        move_stop(group, brings[0].uuid, 1, now=now)
    moved = move_stop(group, brings[0].uuid, 6, now=now)
    assert moved.number == 6
    assert moved.locked_s == moved.begin_s
    order = waiting(found)
    assert [stop.number for stop in order] == list(range(1, 7))
    assert order[-1].pk == brings[0].pk
    found.refresh_from_db()
    assert verify(found.document) == []


def test_dropping_gives_the_pickups_back_unless_something_is_on_the_cart(harbour):
    found = harbour.announced()
    group, now = harbour.cast.group, harbour.then
    stop = waiting(found)[0]
    token = make_round_link(found, now=now)
    note_stop_done(group, stop.uuid, harbour.act("k"))
    with pytest.raises(RoundRefused, match="on the cart"):
        drop_round(group, found.uuid, now=now, dropped_by=harbour.cast.bruno)
    bring = found.stops.get(pickup=stop.pickup, side="bring")
    note_stop_done(group, bring.uuid, harbour.act("k2"))
    drop_round(group, found.uuid, now=now, dropped_by=harbour.cast.bruno)
    open_ones = Pickup.objects.of(group).filter(state=State.ANNOUNCED)
    assert "graca" not in set(open_ones.values_list("fetcher__code", flat=True))
    with pytest.raises(RoundLinkOver, match="somebody else"):
        open_round_link(token, now=now)
    rest = waiting(found)[0]
    with pytest.raises(RoundRefused, match="dropped"):
        note_stop_done(group, rest.uuid, harbour.act("k3"))
    assert harbour.build().pk != found.pk


def test_a_link_opens_its_own_round_until_it_is_over(harbour):
    found = harbour.announced()
    token = make_round_link(found, now=harbour.then)
    assert open_round_link(token, now=harbour.then).round_id == found.pk
    with pytest.raises(RoundLinkOver, match="not known"):
        open_round_link("x" * 22, now=harbour.then)
    with pytest.raises(RoundLinkOver, match="is over"):
        open_round_link(token, now=harbour.then + timedelta(days=5))


def test_a_household_that_fetched_it_itself_is_told_to_the_carrier(harbour):
    found = harbour.announced()
    group, stop = harbour.cast.group, waiting(found)[0]
    complete_pickup(
        group,
        stop.pickup.uuid,
        Act(COMPLETE, Actor(harbour.cast.duarte, Party.FETCHER), "own", harbour.then),
    )
    with pytest.raises(Refused, match="already done"):
        note_stop_done(group, stop.uuid, harbour.act("k"))
    # By itself the rest is ordered anew, since somebody else than the carrier has done it.
    [asked] = Work.objects.of(group).filter(kind="mend_round")
    mend_round(asked, now=harbour.then)
    assert len(waiting(found)) == 4
    again = replan_round(group, found.uuid, now=harbour.then, asked_by=None, effort=QUICK)
    assert len(waiting(again)) == 4


@pytest.mark.parametrize("ending", ["brought", "failed"])
def test_what_ends_elsewhere_while_it_is_on_the_cart_is_booked_once(harbour, ending):
    found = harbour.announced()
    group = harbour.cast.group
    pickup = pickup_of(harbour, "quay-stall", harbour.cast.drum.code)
    fetch, bring = pickup.round_stops.order_by("number")
    note_stop_done(group, fetch.uuid, harbour.act("f"))
    own = Actor(harbour.cast.duarte, Party.FETCHER)
    if ending == "brought":
        complete_pickup(group, pickup.uuid, Act(COMPLETE, own, "own", harbour.then))
    else:
        end_pickup(group, pickup.uuid, Act(FAIL, own, "own", harbour.then, reason="other"))
    replan_round(group, found.uuid, now=harbour.then, asked_by=None, effort=QUICK)
    assert on_cart_g(harbour) == (0 if ending == "brought" else 3_400)
    if ending == "brought":
        note_stop_done(group, bring.uuid, harbour.act("b"))
    else:
        note_stop_problem(group, bring.uuid, harbour.act("b"), reason="other", went_to="discarded")
    assert on_cart_g(harbour) == 0
    net = Movement.objects.of(group).filter(posting__reverses=None, posting__reversed_by=None)
    from_source = net.filter(from_account=harbour.cast.quay_stall.account)
    assert from_source.aggregate(total=Sum("amount_g"))["total"] == 3_400


def test_another_groups_stop_is_not_there(harbour):
    found = harbour.announced()
    with pytest.raises(Http404):
        note_stop_done(harbour.cast.other_group, waiting(found)[0].uuid, harbour.act("k"))
    with pytest.raises(Http404):
        note_stop_done(harbour.cast.group, uuid4(), harbour.act("k"))


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


def test_a_home_open_twice_is_served_when_it_fits_and_stays_there_when_ordered_anew(harbour):
    group, home = harbour.cast.group, harbour.cast.dome.place
    day = harbour.on.weekday()
    twice = [Window(day, 9 * 60, 10 * 60 + 30), Window(day, 12 * 60 + 30, 20 * 60)]
    save_place(
        group, code=home.code, name=home.name, area=home.area, street=home.street,
        access_note=home.access_note, latitude=home.latitude, longitude=home.longitude,
        is_public=False, hours=twice,
    )  # fmt: skip
    found = harbour.build()
    brought = found.stops.get(pickup=pickup_of(harbour, "quay-stall", "elsa-dome"), side="bring")
    # Its longer hours begin after noon, when everything else has long been done.
    assert brought.begin_s <= (10 * 60 + 30) * 60
    assert verify(found.document) == []
    again = replan_round(group, found.uuid, now=harbour.cast.now, asked_by=None, effort=QUICK)
    assert verify(again.document) == []
    assert max(stop.begin_s for stop in waiting(again)) <= (10 * 60 + 30) * 60
