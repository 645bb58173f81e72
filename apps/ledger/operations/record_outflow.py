"""Write down liquid fertiliser that left a digester."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from apps.groups.models import Group
from apps.ledger.models import Account, LiquidKind, PostingKind
from apps.ledger.operations.entry import Entry, Pour, entry_day
from apps.ledger.operations.post import Posted, post


def record_outflow(
    group: Group,
    *,
    digester_account: Account,
    amount_ml: int,
    happened_at: datetime,
    now: datetime,
    client_key: str,
    recorded_by_uuid: UUID | None = None,
    note: str = "",
) -> Posted:
    """Millilitres out of the digester."""
    entry = Entry(
        kind=PostingKind.OUTFLOW,
        on=entry_day(group, happened_at),
        happened_at=happened_at,
        client_key=client_key,
        pours=(Pour(digester_account, LiquidKind.OUTFLOW, amount_ml),),
        recorded_by_uuid=recorded_by_uuid,
        note=note,
    )
    return post(group, entry, now=now)
