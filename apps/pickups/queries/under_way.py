"""What the planner must know of the pickups: `settings.STARTED_PICKUPS` and `CLOSED_PAIRS`."""

from __future__ import annotations

from datetime import date, timedelta

from apps.groups.models import Group
from apps.pickups.core.life import State
from apps.pickups.models import Pickup, PickupLine
from apps.planning.core.problem import Placement
from apps.planning.queries.batches import batch_code
from apps.planning.queries.started import ClosedPair

CLOSED = (State.DECLINED, State.FAILED, State.COLLECTED, State.DELIVERED)
"""States after which the same pair is not asked again on the same day."""

OVERNIGHT = timedelta(days=2)
"""What was collected before the first day and has not arrived counts so long."""


def started_placements(group: Group, first: date, days: int) -> list[Placement]:
    """What is being carried at this moment. What has arrived is in the ledger: it is stock in
    a bin, and the source has it no more. One query."""
    rows = (
        PickupLine.objects.of(group)
        .filter(
            pickup__state=State.COLLECTED,
            pickup__on__range=(first - OVERNIGHT, first + timedelta(days=days - 1)),
        )
        .values_list(
            "stream__code", "batch_on", "pickup__digester__code", "pickup__on", "planned_g"
        )
    )
    return sorted(
        (
            Placement(batch_code(stream, batch_on), digester, (on - first).days, planned_g)
            for stream, batch_on, digester, on, planned_g in rows
        ),
        key=lambda each: (each.batch, each.digester, each.day),
    )


def closed_pairs(group: Group, first: date, days: int) -> list[ClosedPair]:
    """Pairs that declined, failed, are under way or done on that day. One query."""
    rows = (
        Pickup.objects.of(group)
        .filter(state__in=CLOSED, on__range=(first, first + timedelta(days=days - 1)))
        .order_by("on", "source__code", "digester__code")
        .values_list("source__code", "digester__code", "on")
    )
    return list(rows)
