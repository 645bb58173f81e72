"""What a confirmation needs to know of a pickup, and nothing else: it is read at every one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from uuid import UUID

from django.db import connections, router

from apps.feedstock.models import Material
from apps.ledger.models import Account, AccountKind
from apps.pickups.models import Pickup, PickupLine


@dataclass(frozen=True, slots=True)
class LineToWeigh:
    """One batch; `material` has its id and code only. `fetched_g`: what a carrier has of it."""

    pk: int
    uuid: UUID
    planned_g: int
    fetched_g: int | None
    material: Material


@dataclass(frozen=True, slots=True)
class HandOver:
    """From which account to which the lines go; the accounts have id, uuid and kind only."""

    source_account: Account
    bin_account: Account
    lines: Sequence[LineToWeigh]


def hand_over(pickup: Pickup) -> HandOver:
    """One query, whose words the framework finds once: finding them takes longer than asking."""
    connection = connections[router.db_for_read(PickupLine)]
    with connection.cursor() as cursor:
        cursor.execute(_words(connection.alias), [pickup.pk])
        rows = cursor.fetchall()
    source_id, source_uuid, bin_id, bin_uuid = rows[0][:4]
    return HandOver(
        Account(id=source_id, uuid=_as_uuid(source_uuid), kind=AccountKind.SOURCE),
        Account(id=bin_id, uuid=_as_uuid(bin_uuid), kind=AccountKind.BIN),
        [
            LineToWeigh(
                pk, _as_uuid(uuid), planned_g, fetched_g, Material(id=material_id, code=code)
            )
            for *_accounts, pk, uuid, planned_g, fetched_g, material_id, code in rows
        ],
    )


@cache
def _words(alias: str) -> str:
    lines = (
        PickupLine.unscoped.filter(pickup=0)
        .order_by("id")
        .values_list(
            "pickup__source__account_id",
            "pickup__source__account__uuid",
            "pickup__digester__bin_account_id",
            "pickup__digester__bin_account__uuid",
            "id",
            "uuid",
            "planned_g",
            "collected_g",
            "stream__material_id",
            "stream__material__code",
        )
    )
    words, _values = lines.query.get_compiler(alias).as_sql()
    return str(words)


def _as_uuid(stored: UUID | str) -> UUID:
    """SQLite keeps it as text."""
    return stored if isinstance(stored, UUID) else UUID(stored)
