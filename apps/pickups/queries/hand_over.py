"""What a confirmation needs to know of a pickup, and nothing else: it is read at every one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from apps.feedstock.models import Material
from apps.ledger.models import Account, AccountKind
from apps.pickups.models import Pickup, PickupLine


@dataclass(frozen=True, slots=True)
class LineToWeigh:
    """One batch; `material` has its id and code only."""

    pk: int
    uuid: UUID
    planned_g: int
    material: Material


@dataclass(frozen=True, slots=True)
class HandOver:
    """From which account to which the lines go; the accounts have id, uuid and kind only."""

    source_account: Account
    bin_account: Account
    lines: Sequence[LineToWeigh]


def hand_over(pickup: Pickup) -> HandOver:
    """One query."""
    rows = list(
        PickupLine.unscoped.filter(pickup=pickup.pk)
        .order_by("id")
        .values_list(
            "pickup__source__account_id",
            "pickup__source__account__uuid",
            "pickup__digester__bin_account_id",
            "pickup__digester__bin_account__uuid",
            "id",
            "uuid",
            "planned_g",
            "stream__material_id",
            "stream__material__code",
        )
    )
    source_id, source_uuid, bin_id, bin_uuid = rows[0][:4]
    return HandOver(
        Account(id=source_id, uuid=source_uuid, kind=AccountKind.SOURCE),
        Account(id=bin_id, uuid=bin_uuid, kind=AccountKind.BIN),
        [
            LineToWeigh(pk, uuid, planned_g, Material(id=material_id, code=code))
            for *_accounts, pk, uuid, planned_g, material_id, code in rows
        ],
    )
