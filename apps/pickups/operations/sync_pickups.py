"""Bring the pickups into line with a newly announced plan.

A pickup keeps its identity by (source, digester, day). What stays the same is left alone, what
changed gets a new revision, what is gone is withdrawn, and what has begun is never touched.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction

from apps.digesters.models import Digester
from apps.pickups.core.life import ENDED, WITHDRAW, Party, State
from apps.pickups.models import Pickup, PickupLine
from apps.pickups.operations.take_step import Act, Actor, begin_step, tell
from apps.planning.models import Assignment, Plan

Key = tuple[int, int, date]


@dataclass(slots=True)
class _Wanted:
    """What the plan asks of one pickup."""

    from_min: int
    till_min: int
    lines: dict[tuple[int, date], int] = field(default_factory=dict)
    most_g: dict[tuple[int, date], int | None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Synced:
    """How many pickups were announced, changed and withdrawn."""

    announced: int
    changed: int
    withdrawn: int


@transaction.atomic
def sync_pickups(plan: Plan, *, now: datetime) -> Synced:
    """Inside the transaction that announces `plan`."""
    wanted = _wanted(plan)
    existing = {
        (pickup.source_id, pickup.digester_id, pickup.on): pickup
        for pickup in Pickup.objects.of(plan.group)
        .select_for_update(of=("self",))
        .filter(on__gte=plan.starts_on)
        .select_related("group")
        .prefetch_related("lines")
    }
    households = dict(Digester.objects.of(plan.group).values_list("id", "household_id"))
    counts = {"announced": 0, "changed": 0, "withdrawn": 0}
    for key, pickup in existing.items():
        if key not in wanted and pickup.state in WITHDRAW.from_states - {State.DECLINED}:
            _withdraw(pickup, plan, now)
            counts["withdrawn"] += 1
    for key, asked in wanted.items():
        found = existing.get(key)
        if found is None:
            _announce(plan, key, asked, households[key[1]], now)
            counts["announced"] += 1
        elif _changes(found, asked):
            _change(found, plan, asked, now)
            counts["changed"] += 1
        else:
            _tell_most(found, asked)
    return Synced(**counts)


def _wanted(plan: Plan) -> dict[Key, _Wanted]:
    wanted: dict[Key, _Wanted] = {}
    for assignment in Assignment.objects.of(plan.group).filter(plan=plan):
        key = (assignment.source_id, assignment.digester_id, assignment.on)
        asked = wanted.setdefault(key, _Wanted(assignment.from_min, assignment.till_min))
        line = assignment.stream_id, assignment.batch_on
        asked.lines[line] = assignment.amount_g
        asked.most_g[line] = assignment.most_g
    return wanted


def _changes(pickup: Pickup, asked: _Wanted) -> bool:
    """Whether the plan asks something else of it than before; begun ones are left alone, and a
    home that declined is not asked again."""
    if pickup.state in (ENDED - {State.WITHDRAWN}) | {State.COLLECTED, State.DECLINED}:
        return False
    lines = {(line.stream_id, line.batch_on): line.planned_g for line in pickup.lines.all()}
    return (
        pickup.state == State.WITHDRAWN
        or lines != asked.lines
        or (pickup.from_min, pickup.till_min) != (asked.from_min, asked.till_min)
    )


def _announce(
    plan: Plan, key: Key, asked: _Wanted, household_id: int | None, now: datetime
) -> None:
    source_id, digester_id, on = key
    pickup = Pickup.unscoped.create(
        group=plan.group,
        source_id=source_id,
        digester_id=digester_id,
        on=on,
        plan=plan,
        fetcher_id=household_id,
        from_min=asked.from_min,
        till_min=asked.till_min,
        changed_at=now,
    )
    _write_lines(pickup, asked)


def _change(pickup: Pickup, plan: Plan, asked: _Wanted, now: datetime) -> None:
    pickup.state = State.ANNOUNCED
    pickup.plan = plan
    pickup.revision += 1
    pickup.from_min, pickup.till_min = asked.from_min, asked.till_min
    pickup.late_till_min = None
    pickup.changed_at = now
    pickup.save()
    pickup.lines.all().delete()
    _write_lines(pickup, asked)


def _write_lines(pickup: Pickup, asked: _Wanted) -> None:
    PickupLine.unscoped.bulk_create(
        PickupLine(
            group_id=pickup.group_id,
            pickup=pickup,
            stream_id=stream_id,
            batch_on=batch_on,
            planned_g=planned_g,
            most_g=asked.most_g[stream_id, batch_on],
        )
        for (stream_id, batch_on), planned_g in sorted(asked.lines.items())
    )


def _tell_most(pickup: Pickup, asked: _Wanted) -> None:
    """Nobody is asked anew because a bin has more room, or less."""
    for line in pickup.lines.all():
        most_g = asked.most_g.get((line.stream_id, line.batch_on), line.most_g)
        if most_g != line.most_g:
            PickupLine.unscoped.filter(pk=line.pk).update(most_g=most_g)


def _withdraw(pickup: Pickup, plan: Plan, now: datetime) -> None:
    act = Act(
        step=WITHDRAW,
        actor=Actor(None, Party.PLAN),
        client_key=f"plan-{plan.uuid}-{pickup.uuid}",
        now=now,
        reason="plan_changed",
    )
    withdrawn, _is_new = begin_step(pickup.group, pickup.uuid, act)
    tell(withdrawn, act)
