"""Write down what a source says it has on one day."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import NeedsConfirmation, Refused
from apps.kernel.quantities import MAX_FACT, in_thousands
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.supply.models import Offer, Stream

DAYS_AHEAD = 60
"""How far ahead an offer may be made."""

UNUSUAL_TIMES = 3
"""Times the typical amount above which the amount is asked for again."""


class UnusableOffer(Refused):
    """The day is over or too far, or the amount cannot be."""

    code = "unusable_offer"


class UnusualOffer(NeedsConfirmation):
    """Far more than this stream usually has."""

    code = "unusual_offer"


@transaction.atomic
def set_offer(
    stream: Stream,
    *,
    on: date,
    amount_g: int,
    now: datetime,
    said_by: Member | None = None,
    is_confirmed: bool = False,
) -> Offer:
    """It replaces the forecast of that day, and an earlier offer; zero means nothing that day.
    Saying the same again writes nothing."""
    _check(stream, on, amount_g, now, is_confirmed)
    group = stream.group
    offer = Offer.objects.of(group).filter(stream=stream, on=on).select_for_update().first()
    if offer is not None and offer.amount_g == amount_g:
        return offer
    offer, _made = Offer.unscoped.update_or_create(
        group=group,
        stream=stream,
        on=on,
        defaults={"amount_g": amount_g, "said_at": now, "said_by": said_by},
    )
    record_fact(
        group,
        "offer_set",
        happened_at=now,
        subject_uuid=stream.uuid,
        payload={"on": on.isoformat(), "amount_g": amount_g},
        actor_uuid=said_by.uuid if said_by else None,
    )
    return offer


def _check(stream: Stream, on: date, amount_g: int, now: datetime, is_confirmed: bool) -> None:
    today = local_date(now, stream.group.time_zone)
    if not today <= on <= today + timedelta(days=DAYS_AHEAD):
        raise UnusableOffer(
            gettext_noop("%(on)s cannot be offered for: give a day from %(first)s to %(last)s."),
            field="on",
            figures={"on": on, "first": today, "last": today + timedelta(days=DAYS_AHEAD)},
        )
    if isinstance(amount_g, bool) or not isinstance(amount_g, int) or not 0 <= amount_g <= MAX_FACT:
        raise UnusableOffer(
            gettext_noop("%(given)s g cannot be offered: give 0 to %(most)s g."),
            field="amount_g",
            figures={"given": amount_g, "most": MAX_FACT},
        )
    usual_g = max(stream.weekday_g)
    if usual_g and amount_g > UNUSUAL_TIMES * usual_g and not is_confirmed:
        raise UnusualOffer(
            gettext_noop(
                "%(given)s kg is more than %(times)s times the most this source usually has, "
                "%(usual)s kg. Is it right?"
            ),
            field="amount_g",
            figures={
                "given": in_thousands(amount_g),
                "times": UNUSUAL_TIMES,
                "usual": in_thousands(usual_g),
            },
        )
