"""Note what does not belong into a digester; warn, pause, and take a stream back after a trial."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Conflict, Refused
from apps.kernel.quantities import MAX_FACT
from apps.people.models import Member
from apps.pickups.core.foreign import LOOK_BACK_DAYS, Advice, advise
from apps.pickups.models import ForeignKind, ForeignMatter, Pickup, StreamPause
from apps.supply.models import Stream


class ForeignRefused(Refused):
    """The amount or the day cannot be."""

    code = "foreign_refused"


class NotPaused(Conflict):
    """There is no pause to end, or there is one already."""

    code = "not_paused"


@dataclass(frozen=True, slots=True)
class Noted:
    """The find, and what the finds of the fortnight call for."""

    found: ForeignMatter
    advice: Advice
    is_repeat: bool


@transaction.atomic
def note_foreign_matter(
    stream: Stream,
    kind: ForeignKind,
    *,
    now: datetime,
    client_key: str,
    noted_by: Member | None = None,
    pickup: Pickup | None = None,
    amount_g: int = 0,
    is_refused: bool = False,
    on: date | None = None,
) -> Noted:
    """`is_refused`: the waste stayed at the stall (say so with `end_pickup` as well); else
    `amount_g` were set aside, which the pickup's weights book. Fact `foreign_matter_found` with
    the advice."""
    group = stream.group
    today = local_date(now, group.time_zone)
    on = on or today
    if on > today or not 0 <= amount_g <= MAX_FACT:
        raise ForeignRefused(
            _("%(amount)s g on %(on)s cannot have been found."),
            figures={"amount": amount_g, "on": on},
        )
    found, made = ForeignMatter.unscoped.get_or_create(
        group=group,
        client_key=client_key,
        defaults={
            "stream": stream,
            "pickup": pickup,
            "kind": kind,
            "amount_g": amount_g,
            "is_refused": is_refused,
            "on": on,
            "noted_at": now,
            "noted_by": noted_by,
        },
    )
    days = list(ForeignMatter.objects.of(group).filter(stream=stream).values_list("on", flat=True))
    advice = advise(days, on)
    if made:
        record_fact(
            group,
            "foreign_matter_found",
            happened_at=now,
            subject_uuid=stream.uuid,
            payload={
                "kind": str(kind),
                "amount_g": amount_g,
                "is_refused": is_refused,
                "advice": str(advice),
                "days": LOOK_BACK_DAYS,
            },
            actor_uuid=noted_by.uuid if noted_by else None,
        )
    return Noted(found, advice, not made)


@transaction.atomic
def pause_stream(stream: Stream, *, reason: str, now: datetime, paused_by: Member) -> StreamPause:
    """Nothing of it is planned until a clean trial."""
    row = Stream.objects.of(stream.group).select_for_update(of=("self",)).get(pk=stream.pk)
    if StreamPause.objects.of(stream.group).filter(stream=row, ended_at=None).exists():
        raise NotPaused(_("It is paused already. Record a trial to take it back."))
    if not reason.strip():
        raise ForeignRefused(_("Say why, so that the source knows what to sort."), field="reason")
    row.is_active = False
    row.save(update_fields=["is_active"])
    pause = StreamPause.unscoped.create(
        group=row.group,
        stream=row,
        reason=reason.strip()[:200],
        paused_at=now,
        paused_by=paused_by,
    )
    _tell(row, "stream_paused", now, paused_by)
    return pause


@transaction.atomic
def record_trial(stream: Stream, *, is_clean: bool, now: datetime, tried_by: Member) -> bool:
    """Somebody looked through a pail of it. Clean: it is planned again from the next plan on."""
    row = Stream.objects.of(stream.group).select_for_update(of=("self",)).get(pk=stream.pk)
    pause = StreamPause.objects.of(stream.group).filter(stream=row, ended_at=None).first()
    if pause is None:
        raise NotPaused(_("It is not paused. There is nothing to take back."))
    if is_clean:
        pause.ended_at, pause.ended_by = now, tried_by
        pause.save(update_fields=["ended_at", "ended_by"])
        row.is_active = True
        row.save(update_fields=["is_active"])
    _tell(row, "stream_resumed" if is_clean else "trial_failed", now, tried_by)
    return is_clean


def _tell(stream: Stream, kind: str, now: datetime, by: Member) -> None:
    record_fact(stream.group, kind, happened_at=now, subject_uuid=stream.uuid, actor_uuid=by.uuid)
