"""Take a wrong reading back; it stays on record and counts no more."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from apps.digesters.models import Reading
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict
from apps.people.models import Member


class AlreadyWithdrawn(Conflict):
    """Somebody withdrew it before."""

    code = "already_withdrawn"


@transaction.atomic
def withdraw_reading(
    reading: Reading, *, now: datetime, recorded_by: Member | None = None
) -> Reading:
    """Mark it withdrawn, once."""
    changed = (
        Reading.objects.of(reading.group)
        .filter(pk=reading.pk, withdrawn_at=None)
        .update(withdrawn_at=now)
    )
    if not changed:
        raise AlreadyWithdrawn(
            _("The reading of %(on)s was withdrawn before. Nothing more is to be done.")
            % {"on": reading.on}
        )
    record_fact(
        reading.group,
        "reading_withdrawn",
        happened_at=now,
        subject_uuid=reading.uuid,
        payload={"kind": reading.kind, "value": reading.value},
        actor_uuid=recorded_by.uuid if recorded_by else None,
    )
    reading.refresh_from_db()
    return reading
