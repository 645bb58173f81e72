"""Before a plan is made: a pin for each coming day of what was agreed for every week."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils import translation

from apps.groups.models import Group
from apps.planning.models import Pin, Standing, StandingDay
from apps.planning.operations.pin_batch import PLAN_DAYS, PinRefused, pin_batch


def put_standing_pins(
    group: Group, *, starts_on: date, now: datetime, days: int = PLAN_DAYS
) -> list[StandingDay]:
    """Those tried now. A day is pinned once: a pin taken out by hand stays out, one put by hand
    stays as it is. A refused day keeps the reason and is tried again the next evening, since
    what spoke against it may be over.

    One look at the plan's problem for each day that is tried: one a week for each arrangement.
    """
    agreed = (
        Standing.objects.of(group)
        .filter(agreed_at__isnull=False, ended_at=None)
        .select_related("stream__source", "digester", "agreed_by", "group")
        .order_by("agreed_at", "pk")
    )
    done = set(
        StandingDay.objects.of(group)
        .filter(on__gte=starts_on, is_pinned=True)
        .values_list("standing_id", "on")
    )
    coming = [starts_on + timedelta(days=ahead) for ahead in range(days)]
    return [
        _put(standing, on, now)
        for standing in agreed
        for on in coming
        if on.weekday() == standing.weekday and (standing.pk, on) not in done
    ]


@transaction.atomic
def _put(standing: Standing, on: date, now: datetime) -> StandingDay:
    group = standing.group
    pin = (
        Pin.objects.of(group)
        .filter(stream=standing.stream, batch_on=on, digester=standing.digester, on=on)
        .first()
    )
    reason, is_by_hand = "", pin is not None
    if pin is None:
        try:
            with transaction.atomic(), translation.override(_language(standing)):
                pin = pin_batch(
                    group,
                    stream=standing.stream,
                    batch_on=on,
                    digester=standing.digester,
                    on=on,
                    now=now,
                    amount_g=standing.amount_g,
                    asked_by=standing.agreed_by,
                )
        except PinRefused as error:
            reason = str(error)
    day, _made = StandingDay.unscoped.update_or_create(
        group=group,
        standing=standing,
        on=on,
        defaults={
            "pin": None if is_by_hand else pin,
            "is_pinned": pin is not None,
            "reason": reason,
            "tried_at": now,
        },
    )
    return day


def _language(standing: Standing) -> str:
    """Of whoever agreed, for the reason."""
    return standing.agreed_by.language if standing.agreed_by else "en"
