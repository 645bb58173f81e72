"""Sums of the ledger by local day. A reversal lies on the day of what it takes back, so the
sums of a day are what really happened on it. Each function costs one query."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import date

from django.db.models import Max, Q, Sum

from apps.groups.models import Group
from apps.ledger.models import AccountKind, Liquid, LiquidKind, Movement

Day = tuple[int, date]
"""An account's id and a local day."""


def fed_per_day(
    group: Group, account_ids: Collection[int], first_on: date, last_on: date
) -> dict[Day, dict[str, int]]:
    """Grams into each digester account by day and material code, both days included."""
    return fed_and_own_per_day(group, account_ids, first_on, last_on)[0]


def own_waste_per_day(
    group: Group, account_ids: Collection[int], first_on: date, last_on: date
) -> dict[Day, dict[str, int]]:
    """The part of `fed_per_day` that came from the household's own kitchen."""
    return fed_and_own_per_day(group, account_ids, first_on, last_on)[1]


def fed_and_own_per_day(
    group: Group, account_ids: Collection[int], first_on: date, last_on: date
) -> tuple[dict[Day, dict[str, int]], dict[Day, dict[str, int]]]:
    """`fed_per_day` and `own_waste_per_day` of the same days."""
    rows = (
        Movement.objects.of(group)
        .filter(Q(to_account__in=account_ids) | Q(from_account__in=account_ids))
        .filter(posting__on__range=(first_on, last_on))
        .values_list(
            "to_account_id",
            "to_account__kind",
            "from_account_id",
            "from_account__kind",
            "posting__on",
            "material__code",
        )
        .annotate(amount_g=Sum("amount_g"))
        .order_by()
    )
    wanted = set(account_ids)
    fed: dict[Day, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    own: dict[Day, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for to_id, to_kind, from_id, from_kind, on, code, amount_g in rows:
        if to_id in wanted:
            fed[to_id, on][code] += amount_g
            if from_kind == AccountKind.KITCHEN:
                own[to_id, on][code] += amount_g
        if from_id in wanted:
            fed[from_id, on][code] -= amount_g
            if to_kind == AccountKind.KITCHEN:
                own[from_id, on][code] -= amount_g
    return _without_zeros(fed), _without_zeros(own)


def liquids_per_day(
    group: Group,
    kind: LiquidKind,
    account_ids: Collection[int],
    first_on: date,
    last_on: date,
) -> dict[Day, int]:
    """Millilitres of water into, or outflow out of, each digester account by day."""
    rows = (
        Liquid.objects.of(group)
        .filter(kind=kind, account__in=account_ids, posting__on__range=(first_on, last_on))
        .values_list("account_id", "posting__on")
        .annotate(amount_ml=Sum("amount_ml"))
        .order_by()
    )
    return {(account_id, on): amount_ml for account_id, on, amount_ml in rows if amount_ml}


def collected_per_day(
    group: Group, first_on: date, last_on: date
) -> dict[tuple[int, int, date], int]:
    """Grams that left each source by source account id, material id and day."""
    rows = (
        Movement.objects.of(group)
        .filter(Q(from_account__kind=AccountKind.SOURCE) | Q(to_account__kind=AccountKind.SOURCE))
        .filter(posting__on__range=(first_on, last_on))
        .values_list(
            "from_account_id", "from_account__kind", "to_account_id", "material_id", "posting__on"
        )
        .annotate(amount_g=Sum("amount_g"))
        .order_by()
    )
    collected: dict[tuple[int, int, date], int] = defaultdict(int)
    for from_id, from_kind, to_id, material_id, on, amount_g in rows:
        if from_kind == AccountKind.SOURCE:
            collected[from_id, material_id, on] += amount_g
        else:
            collected[to_id, material_id, on] -= amount_g
    return {key: amount_g for key, amount_g in collected.items() if amount_g > 0}


def last_collected_on(group: Group) -> dict[int, date]:
    """The last day on which something was collected, by source account id; a collection that
    was taken back does not count."""
    rows = (
        Movement.objects.of(group)
        .filter(
            from_account__kind=AccountKind.SOURCE,
            posting__reverses=None,
            posting__reversed_by=None,
        )
        .values_list("from_account_id")
        .annotate(last_on=Max("posting__on"))
        .order_by()
    )
    return dict(rows)


def _without_zeros(amounts: dict[Day, dict[str, int]]) -> dict[Day, dict[str, int]]:
    kept = {
        day: {code: amount_g for code, amount_g in by_code.items() if amount_g}
        for day, by_code in amounts.items()
    }
    return {day: by_code for day, by_code in kept.items() if by_code}
