"""Feedings are written once, whole, and never refused. Expected grams are sums by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from apps.groups.models import Fact
from apps.ledger.models import LiquidKind, Movement, Posting
from apps.ledger.operations.entry import InTheFuture, UnbelievableAmount
from apps.ledger.operations.post import KeyUsedBefore, Posted
from apps.ledger.operations.record_collection import record_collection
from apps.ledger.operations.record_feeding import record_feeding
from apps.ledger.queries.balances import balances_g
from apps.ledger.queries.grams_per_day import fed_per_day, liquids_per_day, own_waste_per_day
from apps.ledger.queries.invariants import check_ledger
from tests.cast import Cast


def feed(cast: Cast, key: str, vegetables_g: int, own_g: int = 0, water_ml: int = 0) -> Posted:
    return record_feeding(
        cast.group,
        digester_account=cast.drum.account,
        bin_account=cast.drum.bin_account,
        from_bin_g={cast.materials["veg_market_mixed"]: vegetables_g},
        own_waste_g={cast.materials["household_kitchen"]: own_g},
        water_ml=water_ml,
        happened_at=cast.now,
        now=cast.now,
        client_key=key,
    )


def collect(
    cast: Cast, key: str, delivered_g: int, rejected_g: int = 0, *, is_first: bool = False
) -> Posted:
    material = cast.materials["veg_market_mixed"]
    return record_collection(
        cast.group,
        source_account=cast.quay_stall.account,
        bin_account=cast.drum.bin_account,
        delivered_g={material: delivered_g},
        rejected_g={material: rejected_g},
        happened_at=cast.now,
        now=cast.now,
        client_key=key,
        is_first=is_first,
    )


def test_a_collection_under_its_callers_lock_is_added_once(cast: Cast) -> None:
    bin_, source = cast.drum.bin_account_id, cast.quay_stall.account_id
    before = balances_g(cast.group, [source])[source]["veg_market_mixed"]
    collect(cast, "first", 3_000, 500, is_first=True)
    collect(cast, "second", 2_000, is_first=True)
    with pytest.raises(KeyUsedBefore), transaction.atomic():
        collect(cast, "first", 3_000, is_first=True)
    held = balances_g(cast.group, [bin_, source])
    assert held[bin_] == {"veg_market_mixed": 5_000}
    assert held[source]["veg_market_mixed"] == before - 5_500
    assert all(promise.is_kept for promise in check_ledger())


def test_a_feeding_moves_grams_and_water(cast: Cast) -> None:
    collect(cast, "c", 3_000)
    posted = feed(cast, "f", 2_000, own_g=400, water_ml=5_600)
    drum, bin_ = cast.drum.account_id, cast.drum.bin_account_id
    assert balances_g(cast.group, [bin_])[bin_] == {"veg_market_mixed": 1_000}
    fed = fed_per_day(cast.group, [drum], cast.today, cast.today)
    assert fed == {(drum, cast.today): {"veg_market_mixed": 2_000, "household_kitchen": 400}}
    own = own_waste_per_day(cast.group, [drum], cast.today, cast.today)
    assert own == {(drum, cast.today): {"household_kitchen": 400}}
    water = liquids_per_day(cast.group, LiquidKind.WATER, [drum], cast.today, cast.today)
    assert water == {(drum, cast.today): 5_600}
    assert posted.variance_g == {}
    assert Fact.objects.of(cast.group).filter(kind="feeding_posted").count() == 1


def test_feeding_more_than_the_bin_holds_is_a_fact_with_a_named_variance(cast: Cast) -> None:
    collect(cast, "c", 1_500)
    posted = feed(cast, "f", 4_000)
    assert posted.variance_g == {"veg_market_mixed": 2_500}
    assert balances_g(cast.group, [cast.drum.bin_account_id]) == {}
    found = Movement.objects.of(cast.group).get(from_account__kind="variance")
    assert (found.posting, found.amount_g) == (posted.posting, 2_500)


def test_the_same_key_writes_once(cast: Cast) -> None:
    before = Posting.objects.of(cast.group).count()
    first, again = feed(cast, "tap", 2_000), feed(cast, "tap", 2_000)
    assert (first.is_repeat, again.is_repeat) == (False, True)
    assert first.posting == again.posting
    assert Posting.objects.of(cast.group).count() == before + 1


def test_the_same_key_with_other_grams_is_a_conflict(cast: Cast) -> None:
    feed(cast, "tap", 2_000)
    with pytest.raises(KeyUsedBefore, match="other figures"):
        feed(cast, "tap", 2_001)


def test_another_group_may_use_the_same_key(cast: Cast) -> None:
    feed(cast, "tap", 2_000)
    assert not Posting.objects.of(cast.other_group).exists()


@pytest.mark.parametrize("amount_g", [-1, 2_000_001])
def test_amounts_that_no_fact_has_are_refused(cast: Cast, amount_g: int) -> None:
    before = Posting.objects.of(cast.group).count()
    with pytest.raises(UnbelievableAmount, match=str(amount_g)):
        feed(cast, "f", amount_g)
    assert Posting.objects.of(cast.group).count() == before


def test_nothing_at_all_is_refused(cast: Cast) -> None:
    with pytest.raises(UnbelievableAmount, match="Nothing was moved"):
        feed(cast, "f", 0)


def test_tomorrow_has_not_happened(cast: Cast) -> None:
    with pytest.raises(InTheFuture):
        record_feeding(
            cast.group,
            digester_account=cast.drum.account,
            bin_account=cast.drum.bin_account,
            from_bin_g={cast.materials["bread"]: 100},
            own_waste_g={},
            water_ml=0,
            happened_at=cast.now + timedelta(days=1),
            now=cast.now,
            client_key="f",
        )


def test_foreign_matter_is_collected_and_set_aside(cast: Cast) -> None:
    """12.4 kg gross less 0.9 kg tare is 11.5 kg; 1.5 kg of it foreign: 10.0 kg delivered."""
    collect(cast, "c", delivered_g=10_000, rejected_g=1_500)
    bin_ = cast.drum.bin_account_id
    assert balances_g(cast.group, [bin_]) == {bin_: {"veg_market_mixed": 10_000}}
    aside = Movement.objects.of(cast.group).get(to_account__kind="discarded")
    assert aside.amount_g == 1_500


def test_a_feeding_costs_few_statements(cast: Cast) -> None:
    collect(cast, "c", 3_000)
    feed(cast, "first", 100, own_g=100, water_ml=100)
    with CaptureQueriesContext(
        connection,
    ) as seen:
        feed(cast, "second", 100, own_g=100, water_ml=100)
    # Twelve, as a confirmation, savepoints included; and the model's work that follows.
    assert len(seen) <= 13, [query["sql"][:80] for query in seen]
