"""Enter a holiday, a market closing day or a festival, or take it out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.groups.operations.save_row import check_row
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.supply.models import CalendarDay, SourceKind

MOST_DAYS = 200


class UnusableCalendarDay(Refused):
    """It ends before it begins, lasts too long, or names an unknown kind of source."""

    code = "unusable_calendar_day"


@transaction.atomic
def save_calendar_day(
    group: Group,
    *,
    code: str,
    name: str,
    kind: str,
    first_on: date,
    last_on: date,
    now: datetime,
    is_yearly: bool = False,
    amount_percent: int = 0,
    source_kinds: Sequence[str] = (),
    actor_uuid: UUID | None = None,
) -> CalendarDay:
    """Both days included; the forecast and the plan follow from now on."""
    days = (last_on - first_on).days + 1
    if not 1 <= days <= MOST_DAYS:
        raise UnusableCalendarDay(
            gettext_noop(
                "From %(first)s to %(last)s is %(days)s days. Give a last day that is not before "
                "the first, at most %(most)s days in all."
            ),
            field="last_on",
            figures={"first": first_on, "last": last_on, "days": days, "most": MOST_DAYS},
        )
    unknown = sorted(set(source_kinds) - set(SourceKind.values))
    if unknown:
        raise UnusableCalendarDay(
            gettext_noop("“%(kind)s” is not a kind of source. Use %(kinds)s."),
            field="source_kinds",
            figures={"kind": unknown[0], "kinds": ", ".join(SourceKind.values)},
        )
    row = CalendarDay.objects.of(group).filter(code=code).first() or CalendarDay(
        group=group, code=code
    )
    row.name, row.kind, row.first_on, row.last_on = name, kind, first_on, last_on
    row.is_yearly, row.amount_percent = is_yearly, amount_percent
    row.source_kinds = sorted(set(source_kinds))
    check_row(row)
    row.save()
    _tell(row, "calendar_changed", now, actor_uuid)
    return row


@transaction.atomic
def remove_calendar_day(row: CalendarDay, *, now: datetime, actor_uuid: UUID | None = None) -> None:
    """Take it out: its days are like others again."""
    _tell(row, "calendar_changed", now, actor_uuid)
    row.delete()


def _tell(row: CalendarDay, kind: str, now: datetime, actor_uuid: UUID | None) -> None:
    record_fact(
        row.group,
        kind,
        happened_at=now,
        subject_uuid=row.uuid,
        payload={"code": row.code, "first_on": str(row.first_on), "last_on": str(row.last_on)},
        actor_uuid=actor_uuid,
    )
