"""A round walked to its last stop, and everything that is refused on the way."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.db.models import Sum
from django.http import Http404

from apps.groups.models import Fact
from apps.ledger.models import AccountKind, Balance, Movement
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.pickups.operations.complete_pickup import NotYet, WeightUnusual
from apps.pickups.operations.take_step import KeyUsedElsewhere
from apps.rounds.models import RoundEvent, RoundState, StopSide, StopState
from apps.rounds.operations.errors import (
    RoundRefused,
    StopRefused,
)
from apps.rounds.operations.note_stop import note_stop_done, note_stop_problem
from apps.rounds.operations.replan_round import replan_round
from apps.rounds.verifier import verify
from tests.rounds.harbour import (
    QUICK,
    on_cart_g,
    pickup_of,
    waiting,
)

pytestmark = pytest.mark.django_db


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


def test_another_groups_stop_is_not_there(harbour):
    found = harbour.announced()
    with pytest.raises(Http404):
        note_stop_done(harbour.cast.other_group, waiting(found)[0].uuid, harbour.act("k"))
    with pytest.raises(Http404):
        note_stop_done(harbour.cast.group, uuid4(), harbour.act("k"))
