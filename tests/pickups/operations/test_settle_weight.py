"""Whose weight stands when two differ."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.groups.models import Fact
from apps.ledger.queries.balances import balances_g
from apps.ledger.queries.invariants import check_ledger
from apps.pickups.core.life import COMPLETE, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.operations.settle_weight import NothingToSettle, settle_weight
from apps.pickups.operations.state_weight import state_weight
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.two_weights import two_weights
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    """Duarte wrote down 3.4 kg from the quay, Filipe says 5 kg."""
    cast = make_cast(history_days=0)
    plan = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_000), (cast.citrus, cast.drum, 0, 400)]
    )
    sync_pickups(plan, now=cast.now)
    pickup = Pickup.objects.of(cast.group).get()
    at = cast.now + timedelta(days=1)
    act = Act(COMPLETE, Actor(cast.duarte, Party.FETCHER), "k", at)
    complete_pickup(cast.group, pickup.uuid, act)
    state_weight(cast.group, pickup.uuid, 5_000, now=at, stated_by=cast.filipe)
    return cast


def settle(cast: Cast, *, giver_is_right: bool) -> Pickup:
    """Carla asked both."""
    pickup = Pickup.objects.of(cast.group).get()
    settle_weight(
        cast.group,
        pickup.uuid,
        giver_is_right=giver_is_right,
        now=cast.now + timedelta(days=1),
        settled_by=cast.carla,
        client_key="s1",
    )
    return Pickup.objects.of(cast.group).get()


def in_bin_g(cast: Cast) -> int:
    """Grams in Duarte's bin."""
    bin_id = cast.drum.bin_account_id
    return sum(balances_g(cast.group, [bin_id]).get(bin_id, {}).values())


def test_the_givers_weight_is_booked_anew(cast: Cast) -> None:
    pickup = settle(cast, giver_is_right=True)
    assert in_bin_g(cast) == 5_000
    assert two_weights(pickup).fetcher_g == 5_000
    assert not two_weights(pickup).is_contested
    assert all(promise.is_kept for promise in check_ledger())
    with pytest.raises(NothingToSettle):
        settle(cast, giver_is_right=True)


def test_the_fetchers_weight_stays(cast: Cast) -> None:
    pickup = settle(cast, giver_is_right=False)
    assert in_bin_g(cast) == 3_400
    assert not two_weights(pickup).is_contested
    fact = Fact.objects.of(cast.group).get(kind="weight_settled")
    assert (fact.payload["giver_g"], fact.payload["fetcher_g"]) == (5_000, 3_400)
