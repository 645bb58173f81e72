"""Answer a pickup: accept, decline, say that it did not happen.

Once it was declined or failed, the pair is through for that day (`queries.under_way`), and pins
that would ask it again are lifted. The next best homes: `queries.next_homes`.
"""

from __future__ import annotations

from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.pickups.core.life import ACCEPT, COLLECT, DECLINE, FAIL
from apps.pickups.models import Pickup
from apps.pickups.operations.take_step import Act, begin_step, take_step, tell
from apps.planning.models import Pin

REASONS = {
    DECLINE.name: ("ill", "away", "full", "no_time", "too_heavy", "other"),
    FAIL.name: (
        "nobody_came", "nobody_there", "nothing_there", "spoiled", "foreign_matter", "other",
    ),
}  # fmt: skip
"""Reasons that pages offer for a step; any text of at most 40 characters is taken."""


def accept_pickup(group: Group, pickup_uuid: UUID, act: Act) -> tuple[Pickup, bool]:
    """Say that somebody will go. `act.step` is `ACCEPT`."""
    assert act.step is ACCEPT
    return take_step(group, pickup_uuid, act)


def collect_pickup(group: Group, pickup_uuid: UUID, act: Act) -> tuple[Pickup, bool]:
    """Say that the waste is on its way; from now on no plan moves it. `act.step` is `COLLECT`."""
    assert act.step is COLLECT
    return take_step(group, pickup_uuid, act)


@transaction.atomic
def end_pickup(group: Group, pickup_uuid: UUID, act: Act) -> tuple[Pickup, bool]:
    """Decline, or say that it did not happen: `act.step` is `DECLINE` or `FAIL`."""
    assert act.step in (DECLINE, FAIL)
    pickup, is_new = begin_step(group, pickup_uuid, act)
    if is_new:
        Pin.objects.of(group).filter(
            stream__source=pickup.source_id, digester=pickup.digester_id, on=pickup.on
        ).delete()
        tell(pickup, act)
    return pickup, is_new
