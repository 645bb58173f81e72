"""Ask for a rehearsed year of the neighbourhood, as it is or with a change."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.ask_for_work import ask_for_work
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.rehearsal.core.neighbourhood import Change
from apps.rehearsal.core.run import PolicyName
from apps.rehearsal.models import Rehearsal, RehearsalState, RehearsedStretch
from apps.rehearsal.models.packing import pack
from apps.rehearsal.models.rehearsal import MOST_DAYS
from apps.rehearsal.queries.read_neighbourhood import read_neighbourhood

REHEARSE_WORK = "rehearse"
MOST_AT_ONCE = 3
"""Rehearsals of a group that may go on at the same time."""


class NothingToRehearse(Refused):
    """No digesters, no sources, too many days, or too many rehearsals at once."""

    code = "nothing_to_rehearse"


def start_rehearsal(
    group: Group,
    *,
    name: str,
    first_on: date,
    now: datetime,
    days: int = 365,
    seed: int = 1,
    change: Change | None = None,
    asked_by: Member | None = None,
) -> Rehearsal:
    """Write it down with what it starts from, and the work of its first days. The plan, the
    ledger and the messages of the real neighbourhood are never touched."""
    hood = read_neighbourhood(group)
    if change is not None:
        hood = change.apply(hood)
    if not hood.homes or not hood.streams:
        raise NothingToRehearse(
            gettext_noop("Nothing to rehearse: enter digesters with a plate, and streams, first.")
        )
    if not 1 <= days <= MOST_DAYS:
        raise NothingToRehearse(
            gettext_noop("%(days)s days cannot be rehearsed: give 1 to %(most)s."),
            field="days",
            figures={"days": days, "most": MOST_DAYS},
        )
    with transaction.atomic():
        Group.objects.select_for_update(no_key=True).get(pk=group.pk)
        going_on = Rehearsal.objects.of(group).filter(state=RehearsalState.GOING_ON).count()
        if going_on >= MOST_AT_ONCE:
            raise NothingToRehearse(
                gettext_noop("%(count)s rehearsals are going on. Wait until one is done."),
                figures={"count": going_on},
            )
        rehearsal = Rehearsal.unscoped.create(
            group=group,
            name=name,
            first_on=first_on,
            days=days,
            seed=seed,
            start=pack(hood),
            asked_by=asked_by,
            asked_at=now,
        )
        for policy in PolicyName:
            RehearsedStretch.unscoped.create(group=group, rehearsal=rehearsal, policy=policy.value)
            ask_for_stretch(rehearsal, policy.value, 0, now)
        record_fact(
            group,
            "rehearsal_started",
            happened_at=now,
            subject_uuid=rehearsal.uuid,
            payload={"name": name, "days": days},
            actor_uuid=asked_by.uuid if asked_by else None,
        )
    return rehearsal


def ask_for_stretch(rehearsal: Rehearsal, policy: str, day: int, now: datetime) -> None:
    """The work of the days from `day` on; asking twice is asking once."""
    ask_for_work(
        rehearsal.group,
        REHEARSE_WORK,
        key=f"{rehearsal.uuid}-{policy}-{day}-{rehearsal.times_begun}",
        due_at=now,
        payload={"rehearsal": str(rehearsal.uuid), "policy": policy},
    )
