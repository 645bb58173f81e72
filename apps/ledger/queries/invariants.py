"""Promises of the ledger, each with the figure that shows it kept or broken.

`check_ledger` only reads. `settings.INVARIANT_CHECKS` names the checks of every layer; the
command `check_invariants` runs them all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.db.models import Count, F, Q, Sum

from apps.groups.queries.cross_links import count_cross_links
from apps.ledger.models import (
    AccountKind,
    Balance,
    Movement,
    Posting,
    PostingKind,
)
from apps.ledger.models.guards import GUARDED, REFUSAL


@dataclass(frozen=True, slots=True)
class Promise:
    """`figure` [`unit`] was found where `wanted` was promised."""

    name: str
    figure: int
    unit: str
    wanted: int = 0

    @property
    def is_kept(self) -> bool:
        """Whether the figure is the promised one."""
        return self.figure == self.wanted


def replayed_balances() -> dict[tuple[int, int], int]:
    """Grams by (account id, material id), summed anew from every movement. Two queries."""
    totals: dict[tuple[int, int], int] = defaultdict(int)
    for side, sign in (("to_account_id", 1), ("from_account_id", -1)):
        sums = Movement.unscoped.order_by().values_list(side, "material_id")
        for account_id, material_id, amount_g in sums.annotate(total_g=Sum("amount_g")):
            totals[account_id, material_id] += sign * amount_g
    return dict(totals)


def check_ledger() -> Iterator[Promise]:
    """The ledger's promises over all groups."""
    replayed = replayed_balances()
    stored = {(b.account_id, b.material_id): b.amount_g for b in Balance.unscoped.all()}
    apart = sum(
        abs(replayed.get(key, 0) - stored.get(key, 0)) for key in replayed.keys() | stored.keys()
    )
    yield Promise("stored balances against replayed movements, total difference", apart, "g")
    per_material: dict[int, int] = defaultdict(int)
    for (_account_id, material_id), amount_g in stored.items():
        per_material[material_id] += amount_g
    yield Promise(
        "grams made or lost: sum of the balances of each material",
        sum(abs(amount_g) for amount_g in per_material.values()),
        "g",
    )
    yield Promise(
        "balances below zero outside the boundaries",
        Balance.unscoped.filter(amount_g__lt=0, floor_g=0).count(),
        "accounts",
    )
    yield from _check_collections()
    yield from _check_reversals()
    yield Promise("links across groups", sum(count_cross_links().values()), "links")
    yield from _check_guards()


def _check_collections() -> Iterator[Promise]:
    """collected + own + named variance = fed + set aside + still in bins and with carriers."""
    grams = dict(
        Balance.unscoped.order_by().values_list("account__kind").annotate(total_g=Sum("amount_g"))
    )

    def total(*kinds: AccountKind) -> int:
        return sum(grams.get(kind, 0) for kind in kinds)

    came = -total(AccountKind.SOURCE, AccountKind.KITCHEN, AccountKind.VARIANCE)
    went = total(AccountKind.DIGESTER) + total(
        AccountKind.COMPOSTED, AccountKind.RETURNED, AccountKind.DISCARDED, AccountKind.SPOILED
    )
    held = total(AccountKind.BIN, AccountKind.CARRIER)
    yield Promise("collected less fed, set aside and held", came - went - held, "g")


def _check_reversals() -> Iterator[Promise]:
    yield Promise(
        "reversals of more than one posting or of none",
        Posting.unscoped.filter(
            Q(kind=PostingKind.REVERSAL, reverses=None)
            | (~Q(kind=PostingKind.REVERSAL) & Q(reverses__isnull=False))
        ).count(),
        "postings",
    )
    yield Promise(
        "postings reversed more than once",
        Posting.unscoped.exclude(reverses=None)
        .order_by()
        .values("reverses")
        .annotate(times=Count("id"))
        .filter(times__gt=1)
        .count(),
        "postings",
    )
    yield Promise("reversals that do not mirror their posting", _unmirrored(), "postings")


def _unmirrored() -> int:
    """Reversals whose movements by account and material do not cancel the original's."""
    net: dict[tuple[int, int, int], int] = defaultdict(int)
    pairs = (
        (Posting.unscoped.exclude(reverses=None).values_list("id", "id")),
        (Posting.unscoped.exclude(reverses=None).values_list("reverses_id", "id")),
    )
    for ids in pairs:
        reversal_of = dict(ids)
        for side, sign in (("to_account_id", 1), ("from_account_id", -1)):
            # The variance that keeps a bin above zero belongs to the reversal alone.
            rows = (
                Movement.unscoped.filter(posting_id__in=reversal_of)
                .exclude(
                    from_account__kind=AccountKind.VARIANCE,
                    posting__kind=PostingKind.REVERSAL,
                )
                .values_list("posting_id", side, "material_id", "amount_g")
            )
            for posting_id, account_id, material_id, amount_g in rows:
                net[reversal_of[posting_id], account_id, material_id] += sign * amount_g
    return len({key[0] for key, amount_g in net.items() if amount_g})


def _check_guards() -> Iterator[Promise]:
    """Try to change and to delete one row of each guarded table; nothing may come of it."""
    for model in GUARDED:
        row = model.unscoped.order_by("id").first()
        if row is None:
            continue
        rows = model.unscoped.filter(pk=row.pk)
        yield Promise(
            f"changes of {model._meta.db_table} that the database let pass",
            _passes(lambda rows=rows: rows.update(group_id=F("group_id"))),
            "statements",
        )
        yield Promise(
            f"deletions from {model._meta.db_table} that the database let pass",
            _passes(lambda rows=rows: rows._raw_delete(rows.db)),
            "statements",
        )


class _TakenBack(Exception):
    """Undo what should have been refused."""


def _passes(attempt: Callable[[], object]) -> int:
    """1 when the statement went through (it is undone at once), 0 when it was refused."""
    try:
        with transaction.atomic():
            attempt()
            raise _TakenBack
    except IntegrityError as error:
        return 0 if REFUSAL in str(error) else 1
    except _TakenBack:
        return 1
