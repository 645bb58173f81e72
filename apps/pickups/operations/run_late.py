"""Somebody comes, but later."""

from __future__ import annotations

from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.pickups.core.life import LATE
from apps.pickups.models import Pickup
from apps.pickups.operations.put_up_ladders import put_up
from apps.pickups.operations.take_step import Act, begin_step, tell

MOST_LATE_MIN = 180
"""Who comes later than three hours had better decline, so that another home is asked. Ours."""


class LateRefused(Refused):
    """Too late, or not on its day."""

    code = "late_refused"


@transaction.atomic
def run_late(group: Group, pickup_uuid: UUID, act: Act, *, minutes: int) -> tuple[Pickup, bool]:
    """`act.step` is `LATE`: so many minutes from now, or from when the hours begin. The source is
    told, and reminders wait so long. Fact: `pickup_running_late`."""
    assert act.step is LATE
    if not 5 <= minutes <= MOST_LATE_MIN:
        raise LateRefused(
            _("%(minutes)s minutes cannot wait. Say 5 to %(most)s, or that you cannot go."),
            field="minutes",
            figures={"minutes": minutes, "most": MOST_LATE_MIN},
        )
    pickup, is_new = begin_step(group, pickup_uuid, act)
    if not is_new:
        return pickup, False
    local = act.now.astimezone(ZoneInfo(group.time_zone))
    if pickup.on != local.date():
        raise LateRefused(_("This pickup is for another day. Look at its page again."))
    begins = max(pickup.from_min, local.hour * 60 + local.minute)
    pickup.late_till_min = min(begins + minutes, 24 * 60 - 1)
    pickup.save(update_fields=["late_till_min"])
    put_up(group, pickup.on, now=act.now)
    tell(pickup, act, {"by": pickup.late_clock}, kind="pickup_running_late")
    return pickup, True
