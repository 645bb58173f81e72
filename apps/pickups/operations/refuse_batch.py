"""A bad batch stays where it is: plastic in it, rotten, or another material than agreed."""

from __future__ import annotations

from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.pickups.core.life import FAIL
from apps.pickups.models import ForeignKind, Pickup
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.note_foreign_matter import note_foreign_matter
from apps.pickups.operations.take_step import Act

SHOWN_KINDS = (ForeignKind.PLASTIC, ForeignKind.ROTTEN, ForeignKind.WRONG, ForeignKind.GLASS)
"""What pages show as pictures; the others are in the list behind them."""


@transaction.atomic
def refuse_batch(
    group: Group, pickup_uuid: UUID, act: Act, *, kind: ForeignKind
) -> tuple[Pickup, bool]:
    """`act.step` is `FAIL`, its reason `foreign_matter`. Each line's stream keeps the find, which
    counts towards a warning and a pause."""
    assert act.step is FAIL
    assert act.reason == "foreign_matter"
    pickup, is_new = end_pickup(group, pickup_uuid, act)
    if is_new:
        for at, line in enumerate(pickup.lines.select_related("stream__group")):
            note_foreign_matter(
                line.stream,
                kind,
                now=act.now,
                client_key=f"{act.client_key[:90]}-{at}",
                noted_by=act.actor.member,
                pickup=pickup,
                is_refused=True,
            )
    return pickup, is_new
