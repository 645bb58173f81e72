"""What whoever came found of what the plan had promised them."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from django.db.models import Exists, OuterRef, Q

from apps.groups.models import Group
from apps.pickups.core.life import FAIL, State
from apps.pickups.models import PickupEvent, PickupLine

FOUND_NOTHING = ("nothing_there", "nobody_there", "spoiled", "foreign_matter")
"""Reasons of a pickup that failed for which its source is the cause."""


def kept_offers(
    group: Group, since_on: date, before_on: date
) -> dict[tuple[int, date], tuple[int, int]]:
    """By stream's id and the batch's day: grams planned and grams found, of pickups that were
    fetched or that failed for want of the waste. What a home declined or forgot says nothing of
    a source. One query."""
    in_vain = PickupEvent.unscoped.filter(
        pickup=OuterRef("pickup"), step=FAIL.name, reason__in=FOUND_NOTHING
    )
    rows = PickupLine.objects.of(group).filter(
        Q(pickup__state=State.DELIVERED, collected_g__isnull=False)
        | Q(Exists(in_vain), pickup__state=State.FAILED),
        batch_on__gte=since_on,
        batch_on__lt=before_on,
    )
    kept: dict[tuple[int, date], tuple[int, int]] = defaultdict(lambda: (0, 0))
    for stream_id, on, planned_g, collected_g, state in rows.values_list(
        "stream_id", "batch_on", "planned_g", "collected_g", "pickup__state"
    ):
        before_g, found_g = kept[stream_id, on]
        more_g = collected_g if state == State.DELIVERED else 0
        kept[stream_id, on] = before_g + planned_g, found_g + more_g
    return dict(kept)
