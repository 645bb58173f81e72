"""Write down liquid fertiliser that left a digester, and for what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from apps.digestate.core.dilution import CAUTIONS, Dilution, Use, dilute
from apps.digesters.models import Digester
from apps.ledger.operations.post import Posted
from apps.ledger.operations.record_outflow import record_outflow
from apps.people.models import Member


@dataclass(frozen=True, slots=True)
class LetOut:
    """The posting, how to dilute it, and the cautions to show with it."""

    posted: Posted
    dilution: Dilution
    cautions: tuple[str, ...]


def let_out(
    digester: Digester,
    *,
    amount_ml: int,
    use: Use,
    happened_at: datetime,
    now: datetime,
    client_key: str,
    recorded_by: Member | None = None,
) -> LetOut:
    """Once per client key; the posting's note names the use."""
    posted = record_outflow(
        digester.group,
        digester_account=digester.account,
        amount_ml=amount_ml,
        happened_at=happened_at,
        now=now,
        client_key=client_key,
        recorded_by_uuid=recorded_by.uuid if recorded_by else None,
        note=f"use: {use}",
    )
    return LetOut(posted, dilute(amount_ml, use), CAUTIONS)
