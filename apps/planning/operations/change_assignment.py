"""Change one assignment of a plan: kept as a wish that the next plan is made around."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from apps.digesters.models import Digester
from apps.people.models import Member
from apps.planning.models import Assignment, Ban, Pin
from apps.planning.operations.ban_pair import ban_pair
from apps.planning.operations.pin_batch import pin_batch


@transaction.atomic
def change_assignment(
    assignment: Assignment,
    *,
    now: datetime,
    digester: Digester | None = None,
    on: date | None = None,
    amount_g: int | None = None,
    asked_by: Member | None = None,
) -> Pin:
    """Pin the batch to another home, day or amount; a pin on its present place is lifted.

    The plan itself stays as it is; make one around the pins and announce it.
    """
    _lift_pins(assignment)
    return pin_batch(
        assignment.group,
        stream=assignment.stream,
        batch_on=assignment.batch_on,
        digester=digester or assignment.digester,
        on=on or assignment.on,
        amount_g=amount_g,
        now=now,
        asked_by=asked_by,
    )


@transaction.atomic
def drop_assignment(
    assignment: Assignment, *, now: datetime, asked_by: Member | None = None
) -> Ban:
    """Rule the pair out on that day, so that the next plan has no such pickup."""
    _lift_pins(assignment)
    return ban_pair(
        assignment.group,
        source=assignment.source,
        digester=assignment.digester,
        on=assignment.on,
        now=now,
        asked_by=asked_by,
    )


def _lift_pins(assignment: Assignment) -> None:
    Pin.objects.of(assignment.group).filter(
        stream=assignment.stream,
        batch_on=assignment.batch_on,
        digester=assignment.digester,
        on=assignment.on,
    ).delete()
