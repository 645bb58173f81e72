"""Pickups of a round that end elsewhere than on it."""

from __future__ import annotations

import pytest
from django.db.models import Sum

from apps.groups.models import Work
from apps.kernel.errors import Refused
from apps.ledger.models import Movement
from apps.pickups.core.life import COMPLETE, FAIL, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.operations.take_step import Act, Actor
from apps.rounds.models import Round, RoundState
from apps.rounds.operations.mend_round import mend_round
from apps.rounds.operations.note_stop import note_stop_done, note_stop_problem
from apps.rounds.operations.replan_round import replan_round
from tests.rounds.harbour import (
    QUICK,
    on_cart_g,
    pickup_of,
    waiting,
    withdraw,
)

pytestmark = pytest.mark.django_db


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
