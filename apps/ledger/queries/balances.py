"""What is in an account now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from apps.groups.models import Group
from apps.ledger.models import Balance, Movement


@dataclass(frozen=True, slots=True)
class Lot:
    """Grams of one material that came into a bin on one local day and are still there."""

    material_code: str
    arrived_on: date
    amount_g: int


def balances_g(group: Group, account_ids: Collection[int]) -> dict[int, dict[str, int]]:
    """Grams by account id and material code, zeros left out. One query."""
    rows = (
        Balance.objects.of(group)
        .filter(account__in=account_ids)
        .exclude(amount_g=0)
        .values_list("account_id", "material__code", "amount_g")
    )
    found: dict[int, dict[str, int]] = defaultdict(dict)
    for account_id, code, amount_g in rows:
        found[account_id][code] = amount_g
    return dict(found)


def lots_in(group: Group, account_ids: Collection[int], since_on: date) -> dict[int, list[Lot]]:
    """What is in each bin by the day it came, oldest first. Two queries.

    First in, first out is assumed (common practice, no source). Arrivals before `since_on`
    are not looked up: what they left behind counts as having come on that day.
    """
    stock = balances_g(group, account_ids)
    rows = (
        Movement.objects.of(group)
        .filter(
            to_account__in=stock,
            posting__on__gte=since_on,
            posting__reverses=None,
            posting__reversed_by=None,
        )
        .values_list("to_account_id", "material__code", "posting__on")
        .annotate(amount_g=Sum("amount_g"))
        .order_by("-posting__on", "material__code")
    )
    left = {
        (a, code): amount_g for a, by_code in stock.items() for code, amount_g in by_code.items()
    }
    lots: dict[int, list[Lot]] = {account_id: [] for account_id in stock}
    for account_id, code, on, arrived_g in rows:
        still_g = min(arrived_g, left.get((account_id, code), 0))
        if still_g > 0:
            lots[account_id].append(Lot(code, on, still_g))
            left[account_id, code] -= still_g
    for (account_id, code), amount_g in left.items():
        if amount_g > 0:
            lots[account_id].append(Lot(code, since_on, amount_g))
    for held in lots.values():
        held.sort(key=lambda lot: (lot.arrived_on, lot.material_code))
    return lots
