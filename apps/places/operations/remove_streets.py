"""Go back to straight lines, or forget a file that was refused."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.people.models import Member
from apps.places.models import ExtractState, StreetExtract


@transaction.atomic
def remove_streets(extract: StreetExtract, *, by: Member, now: datetime) -> None:
    """Without an extract in use ways are straight lines times the group's detour factor."""
    if extract.state == ExtractState.IN_USE:
        record_fact(
            extract.group,
            "streets_changed",
            happened_at=now,
            subject_uuid=extract.uuid,
            actor_uuid=by.uuid,
        )
    extract.delete()
