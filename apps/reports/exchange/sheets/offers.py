"""Offers: what sources say they have on single days, past ones included."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cells import Code, Day
from apps.reports.exchange.number_cells import Thousandths
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing
from apps.supply.models import Offer, Stream


def _current(group: Group) -> Mapping[Key, Values]:
    rows = Offer.objects.of(group).values_list("stream__code", "on", "amount_g")
    return {
        (code, on.isoformat()): {"stream": code, "on": on, "amount_kg": amount_g}
        for code, on, amount_g in rows
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    streams = writing.rows(Stream)
    Offer.unscoped.bulk_create(
        Offer(
            group=writing.group,
            stream=streams[row.values["stream"]],
            on=row.values["on"],
            amount_g=row.values["amount_kg"],
            said_at=writing.now,
            said_by=writing.by,
        )
        for row in new
    )
    if not changed:
        return
    there = {
        (offer.stream.code, offer.on): offer
        for offer in Offer.objects.of(writing.group).select_related("stream")
    }
    altered = []
    for row in changed:
        offer = there[row.values["stream"], row.values["on"]]
        offer.amount_g = row.values["amount_kg"]
        offer.said_at = writing.now
        offer.said_by = writing.by
        altered.append(offer)
    Offer.unscoped.bulk_update(altered, ["amount_g", "said_at", "said_by"], batch_size=200)


OFFERS = Sheet(
    name="offers",
    title=gettext_noop("Offers"),
    about=gettext_noop("What a source has on one day, in place of the usual; 0 means nothing."),
    key=("stream", "on"),
    columns=(
        Column("stream", Code(), gettext_noop("Code of the stream."), True, refers_to="streams"),
        Column("on", Day(), gettext_noop("Day, like 2026-05-31."), True),
        Column("amount_kg", Thousandths("kg"), gettext_noop("Kilograms of that day."), True),
    ),
    current=_current,
    write=_write,
)
