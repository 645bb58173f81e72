"""Whose weight stands when two differ."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.digesters.operations.feed_digester import feed_digester
from apps.groups.models import Fact
from apps.ledger.models import AccountKind, Balance
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
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
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


def test_settling_down_below_what_was_fed_leaves_an_empty_bin_and_a_name_for_the_rest(
    cast: Cast,
) -> None:
    """3 kg of vegetables arrived and were fed; then both agree on 2 kg for the whole pickup."""
    at = cast.now + timedelta(days=1)
    vegetables = cast.materials["veg_market_mixed"]
    feed_digester(
        cast.drum,
        from_bin_g={vegetables: 3_000},
        own_waste_g={},
        water_ml=0,
        fed_at=at,
        now=at,
        client_key="fed",
        is_confirmed=True,
    )
    state_weight(
        cast.group, Pickup.objects.of(cast.group).get().uuid, 2_000, now=at, stated_by=cast.filipe
    )
    pickup = settle(cast, giver_is_right=True)
    # By shares of 3,000 and 400 g: 1,765 g of vegetables (the rest of the division) and 235 g.
    assert [line.collected_g for line in pickup.lines.order_by("planned_g")] == [235, 1_765]
    bin_id, source_id = cast.drum.bin_account_id, cast.quay_stall.account_id
    held = balances_g(cast.group, [bin_id, source_id])
    assert held[bin_id].get("veg_market_mixed", 0) == 0
    assert sum(held[source_id].values()) == -2_000
    found = Balance.objects.of(cast.group).get(account__kind=AccountKind.VARIANCE)
    assert found.amount_g == -(3_000 - 1_765)
    assert all(promise.is_kept for promise in check_ledger())
