"""Answer a concern. A smell of gas is closed only by the name of who tested for tightness."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from apps.digesters.models import Concern, ConcernKind
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Conflict, Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member


class NotTested(Refused):
    """Nobody is named who tested for tightness, or the day cannot be."""

    code = "not_tested"


class AnswerMissing(Refused):
    """Whoever raised it is told what was found."""

    code = "answer_missing"


class AlreadyClosed(Conflict):
    """Somebody answered before."""

    code = "already_closed"


@transaction.atomic
def close_concern(
    concern: Concern,
    *,
    answer: str,
    closed_by: Member,
    now: datetime,
    tightness_tested_by: str = "",
    tightness_tested_on: date | None = None,
) -> Concern:
    """Fact: `concern_closed`. From then on the digesters of the place are fed again."""
    row: Concern = (
        Concern.objects.of(concern.group)
        .select_for_update(of=("self",))
        .select_related("group")
        .get(pk=concern.pk)
    )
    if row.closed_at is not None:
        raise AlreadyClosed(
            gettext_noop("This was answered on %(on)s: %(answer)s"),
            figures={"on": row.closed_at.date(), "answer": row.answer},
        )
    if not answer.strip():
        raise AnswerMissing(
            gettext_noop("Say in a sentence what was found and done."), field="answer"
        )
    if row.kind == ConcernKind.GAS_SMELL:
        _check_test(row, tightness_tested_by, tightness_tested_on, now)
        row.tightness_tested_by = tightness_tested_by.strip()[:120]
        row.tightness_tested_on = tightness_tested_on
    row.answer = answer.strip()[:300]
    row.closed_at = now
    row.closed_by = closed_by
    row.save()
    record_fact(
        row.group,
        "concern_closed",
        happened_at=now,
        subject_uuid=row.uuid,
        payload={"kind": row.kind, "tested_by": row.tightness_tested_by},
        actor_uuid=closed_by.uuid,
    )
    return row


def _check_test(concern: Concern, tested_by: str, tested_on: date | None, now: datetime) -> None:
    zone = concern.group.time_zone
    raised_on, today = local_date(concern.raised_at, zone), local_date(now, zone)
    if not tested_by.strip():
        raise NotTested(
            gettext_noop(
                "Nothing is lit before somebody has tested for tightness with soapy water. Name "
                "who did; gas work is for a licensed person."
            ),
            field="tightness_tested_by",
        )
    if tested_on is None or not raised_on <= tested_on <= today:
        raise NotTested(
            gettext_noop("Give the day of the test, from %(first)s to %(last)s."),
            field="tightness_tested_on",
            figures={"first": raised_on, "last": today},
        )
