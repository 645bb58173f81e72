"""Apply movements to the stored balances, under the locks of their rows.

Locks are taken once, in one fixed order (account, material; variance accounts last), so that
two postings can wait for each other but never in a circle. SQLite has one writer at a time.

Where nothing leaves a bin or a carrier no balance can fall below zero, so nothing need be read:
one statement adds the changes, in the same order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from uuid import uuid4

from django.db import connections, router

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
    given_g: dict[Key, int] = defaultdict(int)
    every = [move for moves in moves_of_entries for move in moves]
    for move in every:
        accounts[move.from_account.pk] = move.from_account
        accounts[move.to_account.pk] = move.to_account
        given_g[move.from_account.pk, move.material.pk] -= move.amount_g
        given_g[move.to_account.pk, move.material.pk] += move.amount_g
    if every and all(move.from_account.is_boundary for move in every):
        _add(group, accounts, given_g)
        return [[] for _moves in moves_of_entries]
    ordinary = {key for key in given_g if accounts[key[0]].kind != AccountKind.VARIANCE}
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


def _add(group: Group, accounts: dict[int, Account], changes_g: Mapping[Key, int]) -> None:
    """Add to the stored balances without reading them; rows that are missing are made. The
    framework has no words for adding on conflict; both databases have these."""
    connection = connections[router.db_for_write(Balance)]
    table = connection.ops.quote_name(Balance._meta.db_table)
    as_stored = Balance._meta.get_field("uuid").get_db_prep_value
    values: list[object] = []
    in_order = sorted(
        changes_g.items(),
        key=lambda each: (accounts[each[0][0]].kind == AccountKind.VARIANCE, each),
    )
    for (account_id, material_id), change_g in in_order:
        floor_g = BOUNDARY_FLOOR_G if accounts[account_id].is_boundary else 0
        values += (
            as_stored(uuid4(), connection), group.pk, account_id, material_id, change_g, floor_g,
        )  # fmt: skip
    rows = ", ".join(["(%s, %s, %s, %s, %s, %s)"] * len(in_order))
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {table} (uuid, group_id, account_id, material_id, amount_g, floor_g) "
            f"VALUES {rows} ON CONFLICT (account_id, material_id) "
            f"DO UPDATE SET amount_g = {table}.amount_g + EXCLUDED.amount_g",
            values,
        )


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
