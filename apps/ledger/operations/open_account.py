"""Open an account in the book of grams."""

from __future__ import annotations

from apps.groups.models import Group
from apps.ledger.models import Account, AccountKind

OWN_KITCHENS = "own-kitchens"
NOT_RECORDED = "not-recorded"
"""The variance of waste that was in a bin although nobody had written its arrival down."""

SHARED_NAMES = {
    (AccountKind.KITCHEN, OWN_KITCHENS): "Own kitchens",
    (AccountKind.VARIANCE, NOT_RECORDED): "Found in a bin, arrival not recorded",
    (AccountKind.COMPOSTED, "all"): "Composted",
    (AccountKind.RETURNED, "all"): "Returned to the source",
    (AccountKind.DISCARDED, "all"): "Discarded",
    (AccountKind.SPOILED, "all"): "Spoiled",
}
"""Accounts that a whole group shares, by kind and code."""


def open_account(group: Group, kind: AccountKind, owner_code: str, name: str) -> Account:
    """Make the account of one owner, such as a source or a digester's bin."""
    account = Account(group=group, kind=kind, code=f"{kind.value}-{owner_code}", name=name)
    account.full_clean()
    account.save()
    return account


def shared_account(group: Group, kind: AccountKind, code: str = "all") -> Account:
    """The group's one account of this kind and code, opened when first needed."""
    account, _made = Account.unscoped.get_or_create(
        group=group,
        code=f"{kind.value}-{code}",
        defaults={"kind": kind, "name": SHARED_NAMES[kind, code]},
    )
    return account
