"""Either side says that the weight written down is wrong."""

from __future__ import annotations

from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.pickups.core.life import CONTEST
from apps.pickups.models import Pickup
from apps.pickups.operations.take_step import Act, begin_step, tell


@transaction.atomic
def contest_weight(group: Group, pickup_uuid: UUID, act: Act) -> tuple[Pickup, bool]:
    """`act.step` is `CONTEST`. Both see it; the coordinator asks both and settles it. The book
    stays as it is until then. Fact: `weight_contested`."""
    assert act.step is CONTEST
    pickup, is_new = begin_step(group, pickup_uuid, act)
    if is_new:
        pickup.contested_at = act.now
        pickup.save(update_fields=["contested_at"])
        tell(pickup, act, kind="weight_contested")
    return pickup, is_new
