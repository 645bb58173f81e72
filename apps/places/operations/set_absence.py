"""Say on which days nobody is at a place."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.places.models import Absence, Place

MOST_DAYS = 366


class UnusableAbsence(Refused):
    """It ends before it begins, lasts too long, or lies over another one."""

    code = "unusable_absence"


@transaction.atomic
def set_absence(
    place: Place,
    *,
    first_on: date,
    last_on: date,
    now: datetime,
    keyholder: Member | None = None,
    note: str = "",
    actor_uuid: UUID | None = None,
) -> Absence:
    """Both days included. Saying the same days again changes keyholder and note only."""
    days = (last_on - first_on).days + 1
    if not 1 <= days <= MOST_DAYS:
        raise UnusableAbsence(
            gettext_noop(
                "From %(first)s to %(last)s is %(days)s days. Give a last day that is not before "
                "the first, at most %(most)s days in all."
            ),
            field="last_on",
            figures={"first": first_on, "last": last_on, "days": days, "most": MOST_DAYS},
        )
    over = (
        Absence.objects.of(place.group)
        .filter(place=place, first_on__lte=last_on, last_on__gte=first_on)
        .exclude(first_on=first_on, last_on=last_on)
        .first()
    )
    if over is not None:
        raise UnusableAbsence(
            gettext_noop(
                "%(first)s to %(last)s is already said to be away. Change that one instead."
            ),
            field="first_on",
            figures={"first": over.first_on, "last": over.last_on},
        )
    absence, made = Absence.unscoped.update_or_create(
        group=place.group,
        place=place,
        first_on=first_on,
        last_on=last_on,
        defaults={"keyholder": keyholder, "note": note},
    )
    if made:
        _tell(absence, "absence_set", now, actor_uuid)
    return absence


@transaction.atomic
def end_absence(absence: Absence, *, now: datetime, actor_uuid: UUID | None = None) -> None:
    """Take an absence back: somebody is there after all."""
    _tell(absence, "absence_ended", now, actor_uuid)
    absence.delete()


def _tell(absence: Absence, kind: str, now: datetime, actor_uuid: UUID | None) -> None:
    record_fact(
        absence.group,
        kind,
        happened_at=now,
        subject_uuid=absence.place.uuid,
        payload={"first_on": str(absence.first_on), "last_on": str(absence.last_on)},
        actor_uuid=actor_uuid,
    )
