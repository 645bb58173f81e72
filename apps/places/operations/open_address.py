"""Open an exact address that is otherwise hidden; every opening is written down."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.places.models import Place


class ReasonMissing(Refused):
    """An opened address is explained to whoever lives there."""

    code = "reason_missing"

    def __init__(self) -> None:
        super().__init__(
            gettext_noop("Say in a few words why you need the address."), field="reason"
        )


@transaction.atomic
def open_address(place: Place, *, by: Member, reason: str, now: datetime) -> str:
    """Return the street and its access note, after a fact says who saw them and why."""
    if not reason.strip():
        raise ReasonMissing
    record_fact(
        place.group,
        "address_opened",
        happened_at=now,
        subject_uuid=place.uuid,
        actor_uuid=by.uuid,
        payload={"reason": reason.strip()[:200]},
    )
    return "\n".join(part for part in (place.street, place.access_note) if part)
