"""Announced plans written by hand, for tests of what follows from one."""

from __future__ import annotations

from datetime import timedelta

from apps.digesters.models import Digester
from apps.planning.models import Assignment, Plan, PlanStatus
from apps.supply.models import Stream
from tests.cast import Cast


def write_plan(cast: Cast, assignments: list[tuple[Stream, Digester, int, int]]) -> Plan:
    """A plan from tomorrow; each assignment is (stream, digester, day from 0, grams). It
    replaces the one announced before."""
    group = cast.group
    first_on = cast.today + timedelta(days=1)
    Plan.objects.of(group).update(status=PlanStatus.SUPERSEDED)
    plan = Plan.unscoped.create(
        group=group,
        version=Plan.objects.of(group).count() + 1,
        status=PlanStatus.ANNOUNCED,
        starts_on=first_on,
        made_at=cast.now,
        announced_at=cast.now,
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
