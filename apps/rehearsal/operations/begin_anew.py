"""Begin a rehearsal under way again, when an update of the service has overtaken it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.rehearsal.core.run import PolicyName
from apps.rehearsal.models import Rehearsal, RehearsalState, RehearsedStretch
from apps.rehearsal.operations.start_rehearsal import ask_for_stretch


@transaction.atomic
def begin_anew(rehearsal: Rehearsal, *, now: datetime) -> None:
    """All policies from the first day, so that the same service lives both; of two that want it
    at once the first does it."""
    rows = Rehearsal.objects.of(rehearsal.group)
    known = rehearsal.times_begun
    begun = rows.filter(pk=rehearsal.pk, times_begun=known, state=RehearsalState.GOING_ON).update(
        times_begun=known + 1
    )
    rehearsal.refresh_from_db(fields=["times_begun", "state"])
    if not begun:
        return
    RehearsedStretch.objects.of(rehearsal.group).filter(rehearsal=rehearsal).update(
        until_day=0, packed=b""
    )
    for policy in PolicyName:
        ask_for_stretch(rehearsal, policy.value, 0, now)
    _tell(rehearsal, "rehearsal_begun_anew", now)


@transaction.atomic
def stop_rehearsal(rehearsal: Rehearsal, *, now: datetime) -> None:
    """What it starts from cannot be read any more."""
    stopped = (
        Rehearsal.objects.of(rehearsal.group)
        .filter(pk=rehearsal.pk, state=RehearsalState.GOING_ON)
        .update(state=RehearsalState.STOPPED)
    )
    if stopped:
        _tell(rehearsal, "rehearsal_stopped", now)


def _tell(rehearsal: Rehearsal, kind: str, now: datetime) -> None:
    record_fact(
        rehearsal.group,
        kind,
        happened_at=now,
        subject_uuid=rehearsal.uuid,
        payload={"name": rehearsal.name},
    )
