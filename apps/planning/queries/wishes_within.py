"""Pins, bans and the announced plan, inside the days of a problem."""

from __future__ import annotations

from collections.abc import Container
from datetime import date, timedelta

from apps.groups.models import Group
from apps.planning.core import problem as core
from apps.planning.models import Assignment, Ban, Pin
from apps.planning.queries.batches import batch_code
from apps.planning.queries.in_force import plans_in_force
from apps.planning.queries.started import closed_pairs


def pins_within(
    group: Group,
    first: date,
    days: int,
    batches: Container[str],
    digesters: Container[str],
) -> tuple[core.Pin, ...]:
    """Pins whose batch is still to be placed."""
    rows = (
        Pin.objects.of(group)
        .filter(on__gte=first, on__lt=first + timedelta(days=days))
        .values_list("stream__code", "batch_on", "digester__code", "on", "amount_g")
    )
    pins = (
        core.Pin(batch_code(stream, batch_on), digester, (on - first).days, amount_g)
        for stream, batch_on, digester, on, amount_g in rows
    )
    return tuple(
        sorted(
            (pin for pin in pins if pin.batch in batches and pin.digester in digesters),
            key=lambda pin: (pin.batch, pin.digester, pin.day),
        )
    )


def bans_within(
    group: Group,
    first: date,
    days: int,
    sources: Container[str],
    digesters: Container[str],
) -> tuple[core.Ban, ...]:
    """Pairs ruled out, and pairs that are through for a day."""
    bans = {
        core.Ban(source, digester, None if on is None else (on - first).days)
        for source, digester, on in Ban.objects.of(group).values_list(
            "source__code", "digester__code", "on"
        )
        if source in sources
        and digester in digesters
        and (on is None or 0 <= (on - first).days < days)
    }
    bans |= {
        core.Ban(source, digester, (on - first).days)
        for source, digester, on in closed_pairs(group, first, days)
        if source in sources and digester in digesters
    }
    return tuple(
        sorted(bans, key=lambda ban: (ban.source, ban.digester, -1 if ban.day is None else ban.day))
    )


def announced_within(
    group: Group, first: date, days: int, batches: Container[str], digesters: Container[str]
) -> tuple[core.Placement, ...]:
    """What the announced plans say of these days, as far as it can still be: of each day the one
    that counts, which for today may be older than the one of tomorrow."""
    last = first + timedelta(days=days - 1)
    in_force = plans_in_force(group, first, last)
    rows = (
        Assignment.objects.of(group)
        .filter(plan__in=set(in_force.values()), on__range=(first, last))
        .values_list("stream__code", "batch_on", "digester__code", "on", "amount_g", "plan_id")
    )
    placements = (
        core.Placement(batch_code(stream, batch_on), digester, (on - first).days, amount_g)
        for stream, batch_on, digester, on, amount_g, plan_id in rows
        if in_force[on] == plan_id
    )
    return tuple(
        sorted(
            (each for each in placements if each.batch in batches and each.digester in digesters),
            key=lambda each: (each.batch, each.digester, each.day),
        )
    )
