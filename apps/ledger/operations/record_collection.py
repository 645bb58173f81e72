"""Write down what was collected at a source and brought to a digester's bin."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.ledger.models import Account, AccountKind, PostingKind
from apps.ledger.operations.entry import Entry, entry_day, moves_between
from apps.ledger.operations.open_account import shared_account
from apps.ledger.operations.post import Posted, post, post_first


def record_collection(
    group: Group,
    *,
    source_account: Account,
    bin_account: Account,
    delivered_g: Mapping[Material, int],
    rejected_g: Mapping[Material, int],
    happened_at: datetime,
    now: datetime,
    client_key: str,
    rejected_to: AccountKind = AccountKind.DISCARDED,
    recorded_by_uuid: UUID | None = None,
    note: str = "",
    is_first: bool = False,
) -> Posted:
    """Net grams (tare taken off): collected = delivered + rejected, foreign matter being
    rejected and set aside. `is_first`: see `post_first`."""
    moves = moves_between(source_account, bin_account, delivered_g)
    if any(rejected_g.values()):
        moves += moves_between(source_account, shared_account(group, rejected_to), rejected_g)
    entry = Entry(
        kind=PostingKind.PICKUP,
        on=entry_day(group, happened_at),
        happened_at=happened_at,
        client_key=client_key,
        moves=moves,
        recorded_by_uuid=recorded_by_uuid,
        note=note,
    )
    return (post_first if is_first else post)(group, entry, now=now)
