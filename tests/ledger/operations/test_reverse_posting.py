"""A correction is a mirror image and a new posting; it can be made once."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.ledger.models import LiquidKind
from apps.ledger.operations.record_outflow import record_outflow
from apps.ledger.operations.reverse_posting import CannotReverse, reverse_posting
from apps.ledger.queries.balances import balances_g
from apps.ledger.queries.grams_per_day import (
    collected_per_day,
    fed_per_day,
    last_collected_on,
    liquids_per_day,
)
from apps.ledger.queries.invariants import check_ledger
from tests.cast import Cast
from tests.ledger.operations.test_record_feeding import collect, feed


def broken() -> list[str]:
    return [
        f"{promise.name}: {promise.figure}" for promise in check_ledger() if not promise.is_kept
    ]


def test_a_reversed_feeding_leaves_no_trace_in_the_days_sums(cast: Cast) -> None:
    collect(cast, "c", 3_000)
    posted = feed(cast, "f", 2_000, own_g=300, water_ml=700)
    tomorrow = cast.now + timedelta(days=1)
    reverse_posting(cast.group, posted.posting, reason="Wrong tank", now=tomorrow, client_key="r")
    drum, bin_ = cast.drum.account_id, cast.drum.bin_account_id
    assert fed_per_day(cast.group, [drum], cast.today, cast.today + timedelta(days=1)) == {}
    water = liquids_per_day(cast.group, LiquidKind.WATER, [drum], cast.today, cast.today)
    assert water == {}
    assert balances_g(cast.group, [bin_]) == {bin_: {"veg_market_mixed": 3_000}}
    assert broken() == []


def test_it_can_be_reversed_once(cast: Cast) -> None:
    posted = feed(cast, "f", 2_000)
    first = reverse_posting(cast.group, posted.posting, reason="", now=cast.now, client_key="r")
    again = reverse_posting(cast.group, posted.posting, reason="", now=cast.now, client_key="r")
    assert again.is_repeat
    assert again.posting == first.posting
    with pytest.raises(CannotReverse, match="already taken back"):
        reverse_posting(cast.group, posted.posting, reason="", now=cast.now, client_key="r2")
    with pytest.raises(CannotReverse, match="stays"):
        reverse_posting(cast.group, first.posting, reason="", now=cast.now, client_key="r3")


def test_a_collection_whose_waste_was_fed_meanwhile_can_still_be_taken_back(cast: Cast) -> None:
    collected = collect(cast, "c", 3_000)
    feed(cast, "f", 2_000)
    taken = reverse_posting(cast.group, collected.posting, reason="", now=cast.now, client_key="r")
    # 1,000 g are left of the 3,000 g that are taken out again.
    assert taken.variance_g == {"veg_market_mixed": 2_000}
    assert broken() == []


def test_a_reversed_collection_is_no_visit(cast: Cast) -> None:
    source = cast.quay_stall.account_id
    yesterday = cast.today - timedelta(days=1)
    assert last_collected_on(cast.group)[source] == yesterday
    collected = collect(cast, "c", 3_000)
    assert last_collected_on(cast.group)[source] == cast.today
    reverse_posting(cast.group, collected.posting, reason="", now=cast.now, client_key="r")
    assert last_collected_on(cast.group)[source] == yesterday
    assert collected_per_day(cast.group, cast.today, cast.today) == {}


def test_outflow_is_taken_back_too(cast: Cast) -> None:
    drum = cast.drum.account
    posted = record_outflow(
        cast.group,
        digester_account=drum,
        amount_ml=9_000,
        happened_at=cast.now,
        now=cast.now,
        client_key="o",
    )
    days = (cast.group, LiquidKind.OUTFLOW, [drum.pk], cast.today, cast.today)
    assert liquids_per_day(*days) == {(drum.pk, cast.today): 9_000}
    reverse_posting(cast.group, posted.posting, reason="", now=cast.now, client_key="r")
    assert liquids_per_day(*days) == {}
