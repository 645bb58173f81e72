"""Announced plans written by hand, for tests of what follows from one."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from apps.digesters.models import Digester
from apps.planning.models import Assignment, Plan, PlanStatus
from apps.supply.models import Stream
from tests.cast import Cast


def write_plan(
    cast: Cast,
    assignments: list[tuple[Stream, Digester, int, int]],
    *,
    first_on: date | None = None,
    days: int = 7,
    now: datetime | None = None,
) -> Plan:
    """A plan from tomorrow, unless from another day; each assignment is (stream, digester, day
    from 0, grams). It replaces the one announced before."""
    group = cast.group
    first_on = first_on or cast.today + timedelta(days=1)
    now = now or cast.now
    Plan.objects.of(group).filter(status=PlanStatus.ANNOUNCED).update(status=PlanStatus.SUPERSEDED)
    plan = Plan.unscoped.create(
        group=group,
        version=Plan.objects.of(group).count() + 1,
        status=PlanStatus.ANNOUNCED,
        starts_on=first_on,
        days=days,
        made_at=now,
        announced_at=now,
        input_hash="by hand",
        document={"digesters": [], "feeds": [], "recipes": []},
    )
    for stream, digester, day, amount_g in assignments:
        on = first_on + timedelta(days=day)
        Assignment.unscoped.create(
            group=group,
            plan=plan,
            stream=stream,
            source=stream.source,
            digester=digester,
            batch_on=on,
            on=on,
            amount_g=amount_g,
            distance_m=400,
            from_min=9 * 60,
            till_min=12 * 60,
        )
    return plan
