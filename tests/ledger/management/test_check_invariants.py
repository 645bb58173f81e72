"""The commands that prove and repair the books: each promise is broken once and found broken."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command

from apps.ledger.models import Balance, Movement, Posting
from apps.ledger.models.guards import lift_guards_to_empty_test_database
from tests.cast import Cast


def check() -> str:
    out = io.StringIO()
    call_command("check_invariants", stdout=out)
    return out.getvalue()


def test_all_promises_are_kept(cast: Cast) -> None:
    said = check()
    assert "All promises are kept." in said
    assert "BROKEN" not in said


def test_a_wrong_balance_is_found_and_rebuilt(cast: Cast) -> None:
    balance = Balance.objects.of(cast.group).filter(account=cast.drum.account).first()
    Balance.unscoped.filter(pk=balance.pk).update(amount_g=balance.amount_g + 7)
    with pytest.raises(CommandError, match="3 promises are broken"):
        check()
    out = io.StringIO()
    call_command("rebuild_balances", stdout=out)
    assert out.getvalue().startswith("1 balances")
    check()


def test_a_missing_balance_is_rebuilt(cast: Cast) -> None:
    Balance.objects.of(cast.group).filter(account=cast.quay_stall.account).delete()
    with pytest.raises(CommandError):
        check()
    call_command("rebuild_balances", stdout=io.StringIO())
    check()


def test_a_changed_movement_is_found(cast: Cast) -> None:
    lift_guards_to_empty_test_database()
    movement = Movement.objects.of(cast.group).first()
    Movement.unscoped.filter(pk=movement.pk).update(amount_g=movement.amount_g + 1)
    with pytest.raises(CommandError, match="broken"):
        check()


def test_a_false_reversal_is_found(cast: Cast) -> None:
    lift_guards_to_empty_test_database()
    first, second = Posting.objects.of(cast.group)[:2]
    Posting.unscoped.filter(pk=second.pk).update(kind="reversal", reverses=first)
    with pytest.raises(CommandError, match="broken"):
        check()
