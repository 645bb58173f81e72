"""What a source contact says in one or two taps: the same as yesterday, another amount, nothing."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.kernel.errors import Refused
from apps.ledger.queries.grams_per_day import collected_per_day
from apps.people.models import Member
from apps.supply.models import Offer, Source, Stream
from apps.supply.operations.set_offer import set_offer

LOOK_BACK_DAYS = 7


class NothingBefore(Refused):
    """There is no earlier day to repeat."""

    code = "nothing_before"


@transaction.atomic
def repeat_yesterday(
    source: Source, on: date, *, now: datetime, said_by: Member | None = None
) -> list[Offer]:
    """Offer again what each stream had on the last day, within a week, on which the source said
    or gave something. Streams of which nothing is known that day keep their forecast."""
    streams = list(_streams(source))
    before = _last_day(source, streams, on)
    if before is None:
        raise NothingBefore(
            _("Nothing was offered or collected in the last %(days)s days. Say the amount."),
            figures={"days": LOOK_BACK_DAYS},
        )
    return [
        set_offer(
            stream,
            on=on,
            amount_g=before[stream.pk],
            now=now,
            said_by=said_by,
            is_confirmed=True,
        )
        for stream in streams
        if stream.pk in before
    ]


@transaction.atomic
def offer_amounts(
    source: Source,
    on: date,
    amounts_g: Mapping[Stream, int],
    *,
    now: datetime,
    said_by: Member | None = None,
    is_confirmed: bool = False,
) -> list[Offer]:
    """Offer other amounts; streams left out keep their forecast or earlier offer."""
    return [
        set_offer(
            stream,
            on=on,
            amount_g=amount_g,
            now=now,
            said_by=said_by,
            is_confirmed=is_confirmed,
        )
        for stream, amount_g in amounts_g.items()
        if stream.source_id == source.pk
    ]


def offer_nothing(
    source: Source, on: date, *, now: datetime, said_by: Member | None = None
) -> list[Offer]:
    """Nothing of any stream that day."""
    nothing = dict.fromkeys(_streams(source), 0)
    return offer_amounts(source, on, nothing, now=now, said_by=said_by)


def _streams(source: Source) -> list[Stream]:
    return list(
        Stream.objects.of(source.group)
        .filter(source=source, is_active=True)
        .select_related("source", "material", "group")
    )


def _last_day(source: Source, streams: list[Stream], on: date) -> dict[int, int] | None:
    """Grams by stream id of the last day with an offer or a collection; an offer counts more."""
    since, till = on - timedelta(days=LOOK_BACK_DAYS), on - timedelta(days=1)
    days: dict[date, dict[int, int]] = {}
    collected = collected_per_day(source.group, since, till)
    by_material = {stream.material_id: stream.pk for stream in streams}
    for (account_id, material_id, day), amount_g in collected.items():
        if account_id == source.account_id and material_id in by_material:
            days.setdefault(day, {})[by_material[material_id]] = amount_g
    offers = Offer.objects.of(source.group).filter(
        stream__in=[stream.pk for stream in streams], on__range=(since, till)
    )
    for stream_id, day, amount_g in offers.values_list("stream_id", "on", "amount_g"):
        days.setdefault(day, {})[stream_id] = amount_g
    given = [day for day, amounts in days.items() if any(amounts.values())]
    return days[max(given)] if given else None
