"""Announcing a round, its link, and dropping it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.groups.models import Fact
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.rounds.models import Carrier, RoundState
from apps.rounds.operations.announce_round import announce_round, drop_round
from apps.rounds.operations.errors import (
    LiftingCaution,
    RoundRefused,
)
from apps.rounds.operations.make_round_link import make_round_link
from apps.rounds.operations.note_stop import note_stop_done
from apps.rounds.queries.open_round_link import RoundLinkOver, open_round_link
from tests.rounds.harbour import (
    pickup_of,
    waiting,
    withdraw,
)

pytestmark = pytest.mark.django_db


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
