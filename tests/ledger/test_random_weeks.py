"""Random weeks of operations, repeats included: not a gram is made or lost."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.ledger.models import AccountKind, Posting
from apps.ledger.operations.open_account import shared_account
from apps.ledger.operations.post import KeyUsedBefore
from apps.ledger.operations.record_collection import record_collection
from apps.ledger.operations.record_feeding import record_feeding
from apps.ledger.operations.record_outflow import record_outflow
from apps.ledger.operations.reverse_posting import CannotReverse, reverse_posting
from apps.ledger.operations.set_aside import set_aside
from apps.ledger.queries.balances import lots_in
from apps.ledger.queries.invariants import check_ledger
from tests.cast import Cast, make_cast

GRAMS = st.integers(1, 20_000)
STEP = st.tuples(
    st.sampled_from(["collect", "feed", "aside", "outflow", "reverse"]),
    st.integers(0, 6),  # day of the week
    st.integers(0, 1),  # which digester
    st.sampled_from(["bread", "grass", "veg_market_mixed"]),
    GRAMS,
    st.integers(0, 9),  # client key: few of them, so that repeats and conflicts happen
)


@pytest.fixture
def small_cast(db: None) -> Cast:
    return make_cast(history_days=0)


class Undo(Exception):
    """Leave the database as it was between two examples."""


def do(cast: Cast, step: tuple[str, int, int, str, int, int]) -> None:
    what, day, which, material, amount_g, key = step
    digester = (cast.drum, cast.dome)[which]
    said = {
        "happened_at": cast.now - timedelta(days=day),
        "now": cast.now,
        "client_key": f"{what}-{key}",
    }
    amounts_g = {cast.materials[material]: amount_g}
    if what == "collect":
        record_collection(
            cast.group,
            source_account=cast.quay_stall.account,
            bin_account=digester.bin_account,
            delivered_g=amounts_g,
            rejected_g=amounts_g if amount_g % 2 else {},
            **said,
        )
    elif what == "feed":
        record_feeding(
            cast.group,
            digester_account=digester.account,
            bin_account=digester.bin_account,
            from_bin_g=amounts_g,
            own_waste_g=amounts_g if amount_g % 3 == 0 else {},
            water_ml=amount_g * 2,
            **said,
        )
    elif what == "aside":
        set_aside(
            cast.group,
            from_account=digester.bin_account,
            to_account=shared_account(cast.group, AccountKind.SPOILED),
            amounts_g=amounts_g,
            **said,
        )
    elif what == "outflow":
        record_outflow(cast.group, digester_account=digester.account, amount_ml=amount_g, **said)
    else:
        postings = list(Posting.objects.of(cast.group).order_by("id"))
        if postings:
            posting = postings[amount_g % len(postings)]
            reverse_posting(
                cast.group, posting, reason="", now=cast.now, client_key=said["client_key"]
            )


# Few examples here; a long run is a benchmark of its own.
@settings(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(steps=st.lists(STEP, max_size=20))
def test_not_a_gram_is_made_or_lost(small_cast: Cast, steps: list[tuple]) -> None:
    cast = small_cast
    try:
        with transaction.atomic():
            for step in steps:
                before = Posting.objects.of(cast.group).count()
                try:
                    do(cast, step)
                except (KeyUsedBefore, CannotReverse):
                    assert Posting.objects.of(cast.group).count() == before
            broken = [str(promise) for promise in check_ledger() if not promise.is_kept]
            assert broken == []
            bins = [cast.drum.bin_account_id, cast.dome.bin_account_id]
            lots = lots_in(cast.group, bins, cast.today - timedelta(days=7))
            for account_id, held in lots.items():
                assert all(lot.amount_g > 0 for lot in held), account_id
            raise Undo
    except Undo:
        pass
