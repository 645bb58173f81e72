"""Write down what really went into a digester."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.ledger.models import Account, AccountKind, LiquidKind, PostingKind
from apps.ledger.operations.entry import Entry, Pour, entry_day, moves_between
from apps.ledger.operations.open_account import OWN_KITCHENS, shared_account
from apps.ledger.operations.post import Posted, post


def record_feeding(
    group: Group,
    *,
    digester_account: Account,
    bin_account: Account,
    from_bin_g: Mapping[Material, int],
    own_waste_g: Mapping[Material, int],
    water_ml: int,
    happened_at: datetime,
    now: datetime,
    client_key: str,
    recorded_by_uuid: UUID | None = None,
    note: str = "",
) -> Posted:
    """Grams from the bin and from the own kitchen into the digester, with water [ml].

    Feeding more than the bin holds is recorded as it happened: `Posted.variance_g` tells the
    grams whose arrival nobody had written down.
    """
    moves = moves_between(bin_account, digester_account, from_bin_g)
    if any(own_waste_g.values()):
        kitchens = shared_account(group, AccountKind.KITCHEN, OWN_KITCHENS)
        moves += moves_between(kitchens, digester_account, own_waste_g)
    pours = (Pour(digester_account, LiquidKind.WATER, water_ml),) if water_ml else ()
    entry = Entry(
        kind=PostingKind.FEEDING,
        on=entry_day(group, happened_at),
        happened_at=happened_at,
        client_key=client_key,
        moves=moves,
        pours=pours,
        recorded_by_uuid=recorded_by_uuid,
        note=note,
    )
    return post(group, entry, now=now)
