"""What a home may be asked for on a day, if the first home does not go."""

from __future__ import annotations

from datetime import date

from apps.digesters.models import Digester
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.planning.models import SecondHome
from apps.planning.queries.in_force import plans_in_force


def stands_by(digester: Digester, on: date) -> list[SecondHome]:
    """Of the plan that counts on the day, while the first home has not gone. Three queries."""
    plan_id = plans_in_force(digester.group, on, on).get(on)
    if plan_id is None:
        return []
    rows = list(
        SecondHome.objects.of(digester.group)
        .filter(plan=plan_id, digester=digester, on=on)
        .select_related("source", "instead_of")
    )
    open_still = set(
        Pickup.objects.of(digester.group)
        .filter(on=on, state__in=(State.ANNOUNCED, State.ACCEPTED))
        .filter(source__in=[row.source_id for row in rows])
        .values_list("source_id", "digester_id")
    )
    return [row for row in rows if (row.source_id, row.instead_of_id) in open_still]
