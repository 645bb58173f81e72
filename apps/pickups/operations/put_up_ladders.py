"""Put down, for each open pickup of a day, when its reminders and what follows are due."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from apps.groups.models import Group, Work
from apps.groups.operations.ask_for_work import ask_for_work
from apps.kernel.days import local_date, local_instant
from apps.pickups.core.ladder import Times, rungs
from apps.pickups.core.life import State
from apps.pickups.models import Ladder, Pickup

CLIMB_WORK = "climb_ladder"


def put_up_ladders(work: Work, now: datetime | None = None) -> None:
    """Consumer of the daily work of that name, and after `plan_announced`."""
    now = now or datetime.now(UTC)
    put_up(work.group, local_date(now, work.group.time_zone), now=now)


def put_up(group: Group, on: date, *, now: datetime) -> None:
    """One row of work for each rung that has not passed; (pickup, revision, end, rung) is its
    key, so that asking twice is asking once and a changed pickup begins anew."""
    times = times_of(group)
    for pickup in Pickup.objects.of(group).filter(
        on=on, state__in=(State.ANNOUNCED, State.ACCEPTED)
    ):
        till_min = pickup.expected_till_min
        for rung, minute in rungs(pickup.from_min, till_min, times):
            days, rest = divmod(minute, 1440)
            due_at = local_instant(
                on + timedelta(days=days), time(rest // 60, rest % 60), group.time_zone
            )
            if due_at < now:
                continue
            ask_for_work(
                group,
                CLIMB_WORK,
                key=f"{pickup.uuid}-{pickup.revision}-{till_min}-{rung}",
                due_at=due_at,
                payload={
                    "pickup": str(pickup.uuid),
                    "revision": pickup.revision,
                    "till_min": till_min,
                    "rung": str(rung),
                },
            )


def times_of(group: Group) -> Times:
    """The group's own, or the usual ones."""
    row = Ladder.objects.of(group).first()
    if row is None:
        return Times()
    return Times(row.reminder_min, row.second_reminder_min, row.standby_min, row.coordinator_min)
