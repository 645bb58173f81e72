"""Keep a batch for one digester on one day, as a rule that every plan obeys."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.people.models import Member
from apps.planning.core import problem as core
from apps.planning.models import Pin
from apps.planning.queries.batches import batch_code
from apps.planning.queries.build_problem import build_problem
from apps.planning.queries.contradictions import pin_contradictions
from apps.supply.models import Stream

PLAN_DAYS = 7
MOST_AHEAD_DAYS = 14


class PinRefused(Refused):
    """The pin contradicts a limit, another pin, a ban, or what there is."""

    code = "pin_refused"


def pin_batch(
    group: Group,
    *,
    stream: Stream,
    batch_on: date,
    digester: Digester,
    on: date,
    now: datetime,
    amount_g: int | None = None,
    asked_by: Member | None = None,
) -> Pin:
    """The stream's grams of `batch_on` go to `digester` on `on`; without an amount the plan
    chooses it. A second pin of the same batch, digester and day replaces the first."""
    today = local_date(now, group.time_zone)
    if not today <= on <= today + timedelta(days=MOST_AHEAD_DAYS):
        raise PinRefused(
            _("%(on)s cannot be planned: only %(first)s to %(last)s.")
            % {"on": on, "first": today, "last": today + timedelta(days=MOST_AHEAD_DAYS)},
            field="on",
        )
    if amount_g is not None and amount_g <= 0:
        raise PinRefused(
            _("%(amount)s g cannot be pinned. Give at least 1 g, or rule the pair out instead.")
            % {"amount": amount_g},
            field="amount_g",
        )
    with transaction.atomic():
        # One wish at a time in a group, so that two pins cannot contradict each other unseen.
        Group.objects.select_for_update(no_key=True).get(pk=group.pk)
        pin, _made = Pin.unscoped.update_or_create(
            group=group,
            stream=stream,
            batch_on=batch_on,
            digester=digester,
            on=on,
            defaults={"amount_g": amount_g, "asked_by": asked_by, "asked_at": now},
        )
        _check(group, pin, today, now)
        _tell(pin, "batch_pinned", now, asked_by)
    return pin


@transaction.atomic
def unpin_batch(pin: Pin, *, now: datetime, asked_by: Member | None = None) -> None:
    """Leave the batch to the plan again."""
    _tell(pin, "batch_unpinned", now, asked_by)
    pin.delete()


def _check(group: Group, pin: Pin, today: date, now: datetime) -> None:
    """Refuse what no plan could keep, whatever else it does."""
    first = min(pin.on, today + timedelta(days=1))
    days = max(PLAN_DAYS, (pin.on - first).days + 1)
    built = build_problem(group, first, days, as_of=today, at=now)
    wanted = core.Pin(
        batch_code(pin.stream.code, pin.batch_on),
        pin.digester.code,
        (pin.on - first).days,
        pin.amount_g,
    )
    if wanted.batch not in built.batches:
        raise PinRefused(
            _("%(source)s has nothing of %(stream)s on %(day)s that is still to be placed.")
            % {
                "source": pin.stream.source.name,
                "stream": pin.stream.code,
                "day": pin.batch_on,
            },
            field="batch_on",
        )
    if wanted.digester not in built.digesters:
        raise PinRefused(
            _("%(digester)s is closed.") % {"digester": pin.digester.name}, field="digester"
        )
    contradictions = [str(each) for each in pin_contradictions(built, wanted)]
    if contradictions:
        raise PinRefused(
            _("This cannot be kept: %(why)s") % {"why": " ".join(contradictions)},
            figures={"contradictions": contradictions},
        )


def _tell(pin: Pin, kind: str, now: datetime, by: Member | None) -> None:
    record_fact(
        pin.group,
        kind,
        happened_at=now,
        subject_uuid=pin.uuid,
        payload={
            "stream": pin.stream.code,
            "batch_on": pin.batch_on.isoformat(),
            "digester": pin.digester.code,
            "on": pin.on.isoformat(),
            "amount_g": pin.amount_g,
        },
        actor_uuid=by.uuid if by else None,
    )
