"""The database itself refuses to change history, on whichever database the tests run."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from apps.ledger.models import Liquid, Movement, Posting
from apps.ledger.models.guards import (
    GUARDED,
    REFUSAL,
    guard_history,
    lift_guards_to_empty_test_database,
)
from apps.ledger.queries.invariants import check_ledger
from tests.cast import Cast


@pytest.mark.parametrize("model", GUARDED, ids=lambda model: model.__name__)
def test_no_update(cast: Cast, model: type[Posting | Movement | Liquid]) -> None:
    with pytest.raises(IntegrityError, match=REFUSAL), transaction.atomic():
        model.objects.of(cast.group).update(group=cast.other_group)


@pytest.mark.parametrize("model", GUARDED, ids=lambda model: model.__name__)
def test_no_delete(cast: Cast, model: type[Posting | Movement | Liquid]) -> None:
    rows = model.objects.of(cast.group)
    with pytest.raises(IntegrityError, match=REFUSAL), transaction.atomic():
        rows._raw_delete(rows.db)


def test_no_delete_by_hand(cast: Cast) -> None:
    with (
        pytest.raises(IntegrityError, match=REFUSAL),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("DELETE FROM ledger_movement WHERE amount_g > 0")


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="SQLite has no TRUNCATE")
def test_no_truncate(db: None) -> None:
    with (
        pytest.raises(IntegrityError, match=REFUSAL),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("TRUNCATE ledger_liquid")


def test_a_missing_trigger_is_found_and_a_migrate_brings_it_back(cast: Cast) -> None:
    def let_pass() -> int:
        return sum(promise.figure for promise in check_ledger() if "let pass" in promise.name)

    before = Posting.objects.of(cast.group).count()
    assert let_pass() == 0
    lift_guards_to_empty_test_database()
    # Six statements are tried: an update and a delete on each of three tables.
    assert let_pass() == 6
    assert Posting.objects.of(cast.group).count() == before
    call_command("migrate", verbosity=0)
    assert let_pass() == 0


def test_installing_twice_harms_nothing(cast: Cast) -> None:
    guard_history()
    guard_history()
    test_no_update(cast, Movement)


@pytest.mark.django_db(transaction=True)
def test_a_committing_test_is_cleaned_up(cast: Cast) -> None:
    """Its teardown empties guarded tables; the next test shows that they are guarded again."""
    assert Posting.objects.of(cast.group).exists()


def test_after_it_the_tables_are_empty_and_guarded(cast: Cast) -> None:
    assert not Posting.unscoped.exclude(group=cast.group).exists()
    test_no_update(cast, Liquid)
