"""Whose addresses a member may see now: their own places and those they are matched with."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta

from django.db.models import Q

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.kernel.days import local_date, local_instant
from apps.people.models import Member, Role
from apps.places.queries.visible_address import SEEN_AFTER, SEEN_BEFORE, Viewer
from apps.planning.models import Assignment
from apps.planning.queries.in_force import plans_in_force
from apps.supply.models import Source

DAYS_AROUND = 3
"""Assignments farther from today cannot be within a day of now in any zone."""


def address_viewer(
    group: Group, member: Member, roles: frozenset[Role], *, now: datetime
) -> Viewer:
    """Four queries, however many places there are."""
    own = {
        *Digester.objects.of(group).filter(household=member).values_list("place_id", flat=True),
        *Source.objects.of(group).filter(contact=member).values_list("place_id", flat=True),
    }
    return Viewer(roles, frozenset(own), frozenset(_matched(group, member, now)))


def _matched(group: Group, member: Member, now: datetime) -> Iterator[int]:
    today = local_date(now, group.time_zone)
    around = timedelta(days=DAYS_AROUND)
    in_force = plans_in_force(group, today - around, today + around)
    near = (
        Assignment.objects.of(group)
        .filter(
            Q(digester__household=member) | Q(source__contact=member),
            plan__in=set(in_force.values()),
            on__range=(today - around, today + around),
        )
        .select_related("source", "digester")
        .order_by("pk")
    )
    for assignment in near:
        if in_force.get(assignment.on) != assignment.plan_id:
            continue
        begins_at = _at(group, assignment, assignment.from_min)
        ends_at = _at(group, assignment, assignment.till_min)
        if begins_at - SEEN_BEFORE <= now <= ends_at + SEEN_AFTER:
            yield assignment.source.place_id
            yield assignment.digester.place_id


def _at(group: Group, assignment: Assignment, minute: int) -> datetime:
    """Minutes after local midnight; 1440 is the next midnight."""
    days, rest = divmod(minute, 1440)
    on = assignment.on + timedelta(days=days)
    return local_instant(on, time(rest // 60, rest % 60), group.time_zone)
