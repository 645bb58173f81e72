"""How many planned visits to each source came to nothing, whoever was the cause."""

from __future__ import annotations

from datetime import date, timedelta

from django.db.models import Count, Q

from apps.groups.models import Group
from apps.pickups.core.life import State
from apps.pickups.models import Pickup

LOOK_BACK = timedelta(weeks=8)
"""Days that count. A ruling of ours."""


def missed_visits(group: Group, before_on: date) -> dict[str, tuple[int, int]]:
    """By source code: pickups of the last weeks before the day, and those of them that were
    declined, failed or never carried out. What a plan withdrew counts as neither. One query."""
    rows = (
        Pickup.objects.of(group)
        .filter(on__gte=before_on - LOOK_BACK, on__lt=before_on)
        .exclude(state=State.WITHDRAWN)
        .order_by()
        .values("source__code")
        .annotate(
            planned=Count("pk"),
            missed=Count("pk", filter=~Q(state__in=(State.DELIVERED, State.COLLECTED))),
        )
    )
    return {row["source__code"]: (row["planned"], row["missed"]) for row in rows}
