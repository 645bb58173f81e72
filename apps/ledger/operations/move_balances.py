"""Apply movements to the stored balances, under the locks of their rows.

Locks are taken once, in one fixed order (account, material; variance accounts last), so that
two postings can wait for each other but never in a circle. SQLite has one writer at a time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from apps.groups.models import Group
from apps.ledger.models import Account, AccountKind, Balance
from apps.ledger.operations.entry import Move
from apps.ledger.operations.open_account import NOT_RECORDED, shared_account

BOUNDARY_FLOOR_G = -(10**15)
"""Grams: below anything that a boundary account can reach."""

Key = tuple[int, int]
"""An account's id and a material's id."""


def move_balances(group: Group, moves_of_entries: Sequence[Sequence[Move]]) -> list[list[Move]]:
    """Apply the moves of each entry in turn; return, for each, the moves from the variance
    account that keep bins and carriers from falling below zero."""
    accounts: dict[int, Account] = {}
    keys: set[Key] = set()
    for move in (move for moves in moves_of_entries for move in moves):
        for account in (move.from_account, move.to_account):
            accounts[account.pk] = account
            keys.add((account.pk, move.material.pk))
    ordinary = {key for key in keys if accounts[key[0]].kind != AccountKind.VARIANCE}
    balances = _lock(group, accounts, ordinary)
    amounts_g: dict[Key, int] = defaultdict(int, {k: row.amount_g for k, row in balances.items()})
    variances = [_apply(group, moves, amounts_g) for moves in moves_of_entries]
    for move in (move for moves in variances for move in moves):
        accounts[move.from_account.pk] = move.from_account
    # What the variance accounts hold was not known until now: their entries are changes.
    changes = {key: amounts_g[key] for key in amounts_g.keys() - ordinary}
    for key, row in _lock(group, accounts, changes.keys()).items():
        balances[key] = row
        amounts_g[key] = row.amount_g + changes[key]
    for key, row in balances.items():
        row.amount_g = amounts_g[key]
    Balance.unscoped.bulk_update(balances.values(), ["amount_g"], batch_size=400)
    return variances


def _apply(group: Group, moves: Iterable[Move], amounts_g: dict[Key, int]) -> list[Move]:
    touched: dict[Key, Move] = {}
    for move in moves:
        amounts_g[move.from_account.pk, move.material.pk] -= move.amount_g
        amounts_g[move.to_account.pk, move.material.pk] += move.amount_g
        touched[move.from_account.pk, move.material.pk] = move
    variances = []
    for key, move in sorted(touched.items()):
        if amounts_g[key] < 0 and not move.from_account.is_boundary:
            variance = shared_account(group, AccountKind.VARIANCE, NOT_RECORDED)
            found = Move(variance, move.from_account, move.material, -amounts_g[key])
            amounts_g[variance.pk, move.material.pk] -= found.amount_g
            amounts_g[key] = 0
            variances.append(found)
    return variances


def _lock(group: Group, accounts: dict[int, Account], keys: Iterable[Key]) -> dict[Key, Balance]:
    """The balance rows of `keys`, locked in order, made where missing."""
    wanted = set(keys)
    if not wanted:
        return {}
    found = _locked_rows(group, wanted)
    if len(found) < len(wanted):
        Balance.unscoped.bulk_create(
            [
                Balance(
                    group=group,
                    account_id=account_id,
                    material_id=material_id,
                    floor_g=BOUNDARY_FLOOR_G if accounts[account_id].is_boundary else 0,
                )
                for account_id, material_id in sorted(wanted - found.keys())
            ],
            ignore_conflicts=True,
        )
        found = _locked_rows(group, wanted)
    return found


def _locked_rows(group: Group, keys: set[Key]) -> dict[Key, Balance]:
    rows = (
        Balance.objects.of(group)
        .filter(
            account_id__in={account_id for account_id, _material in keys},
            material_id__in={material_id for _account, material_id in keys},
        )
        .order_by("account_id", "material_id")
        .select_for_update()
    )
    return {(r.account_id, r.material_id): r for r in rows if (r.account_id, r.material_id) in keys}
