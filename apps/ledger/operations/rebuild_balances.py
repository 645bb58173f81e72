"""Make the stored balances anew from the movements, which alone are the truth."""

from __future__ import annotations

from django.db import transaction

from apps.ledger.models import Account, Balance
from apps.ledger.operations.move_balances import BOUNDARY_FLOOR_G
from apps.ledger.queries.invariants import replayed_balances


@transaction.atomic
def rebuild_balances() -> int:
    """Return how many balances differed. Postings made meanwhile wait for the rows' locks."""
    rows = Balance.unscoped.order_by("account_id", "material_id").select_for_update()
    stored = {(row.account_id, row.material_id): row for row in rows}
    replayed = replayed_balances()
    wrong = []
    for key, row in stored.items():
        if row.amount_g != replayed.get(key, 0):
            row.amount_g = replayed.get(key, 0)
            wrong.append(row)
    Balance.unscoped.bulk_update(wrong, ["amount_g"], batch_size=500)
    lacking = sorted(replayed.keys() - stored.keys())
    accounts = Account.unscoped.in_bulk({account_id for account_id, _material in lacking})
    Balance.unscoped.bulk_create(
        Balance(
            group_id=accounts[account_id].group_id,
            account_id=account_id,
            material_id=material_id,
            amount_g=replayed[account_id, material_id],
            floor_g=BOUNDARY_FLOOR_G if accounts[account_id].is_boundary else 0,
        )
        for account_id, material_id in lacking
    )
    return len(wrong) + len(lacking)
