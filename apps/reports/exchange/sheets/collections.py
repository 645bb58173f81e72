"""Past collections: what left a source for a digester's bin. Facts: added, never changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, time

from django.db.models import Q, Sum

from apps.digesters.models import Digester
from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.kernel.days import local_instant
from apps.kernel.words import gettext_noop
from apps.ledger.models import AccountKind, Movement, PostingKind
from apps.ledger.operations.entry import Entry, Move
from apps.ledger.operations.open_account import shared_account
from apps.ledger.operations.post import post_history
from apps.reports.exchange.cells import Code, Day
from apps.reports.exchange.number_cells import Thousandths
from apps.reports.exchange.past import client_key, not_after_today, refuse_change
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing
from apps.supply.models import Source

ABOUT_NOON = time(12)
"""When it happened on its day; the file does not tell."""


def _current(group: Group) -> Mapping[Key, Values]:
    """What was set aside straight at the source went to no bin and is not told here."""
    sources = dict(Source.objects.of(group).values_list("account_id", "code"))
    bins = dict(Digester.objects.of(group).values_list("bin_account_id", "code"))
    rows = (
        Movement.objects.of(group)
        .filter(
            Q(from_account__in=sources, to_account__in=bins)
            | Q(from_account__in=bins, to_account__in=sources)
        )
        .values_list("from_account_id", "to_account_id", "posting__on", "material__code")
        .annotate(amount_g=Sum("amount_g"))
        .order_by()
    )
    totals: dict[tuple[str, str, object, str], int] = defaultdict(int)
    for from_id, to_id, on, material, amount_g in rows:
        if from_id in sources:
            totals[sources[from_id], bins[to_id], on, material] += amount_g
        else:
            totals[sources[to_id], bins[from_id], on, material] -= amount_g
    return {
        (source, digester, str(on), material): {
            "source": source,
            "digester": digester,
            "on": on,
            "material": material,
            "delivered_kg": amount_g,
            "set_aside_kg": 0,
        }
        for (source, digester, on, material), amount_g in totals.items()
        if amount_g
    }


def _check(row: Row, current: Values | None, today: date) -> None:
    not_after_today(row, today)
    if current is not None:
        refuse_change("delivered_kg", current["delivered_kg"], "kg", row.values["on"])


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    sources, materials = writing.rows(Source), writing.rows(Material)
    digesters = {
        digester.code: digester
        for digester in Digester.objects.of(writing.group).select_related("bin_account")
    }
    accounts = {s.pk: s.account for s in Source.objects.of(writing.group).select_related("account")}
    discarded = shared_account(writing.group, AccountKind.DISCARDED)
    entries = []
    for row in sorted(new, key=lambda row: row.values["on"]):
        account = accounts[sources[row.values["source"]].pk]
        material = materials[row.values["material"]]
        bin_account = digesters[row.values["digester"]].bin_account
        parts = ((bin_account, row.values["delivered_kg"]), (discarded, row.values["set_aside_kg"]))
        entries.append(
            Entry(
                kind=PostingKind.PICKUP,
                on=row.values["on"],
                happened_at=min(
                    local_instant(row.values["on"], ABOUT_NOON, writing.group.time_zone),
                    writing.now,
                ),
                client_key=client_key(),
                moves=tuple(Move(account, to, material, g) for to, g in parts if g),
                recorded_by_uuid=writing.by.uuid if writing.by else None,
            )
        )
    post_history(writing.group, entries, now=writing.now)


COLLECTIONS = Sheet(
    name="collections",
    title=gettext_noop("Past collections"),
    about=gettext_noop("What was collected at a source and brought to a digester, day by day."),
    key=("source", "digester", "on", "material"),
    columns=(
        Column("source", Code(), gettext_noop("Code of the source."), True, refers_to="sources"),
        Column(
            "digester", Code(), gettext_noop("Code of the digester."), True, refers_to="digesters"
        ),
        Column("on", Day(), gettext_noop("Day, like 2026-05-31."), True),
        Column(
            "material", Code(), gettext_noop("Code of the material."), True, refers_to="materials"
        ),
        Column(
            "delivered_kg",
            Thousandths("kg", least=1),
            gettext_noop("Net kilograms brought to the bin."),
            True,
        ),
        Column(
            "set_aside_kg",
            Thousandths("kg"),
            gettext_noop("Foreign matter taken out; 0 when empty."),
            default=0,
        ),
    ),
    current=_current,
    write=_write,
    check=_check,
)
