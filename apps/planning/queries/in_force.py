"""Which plan counted on which day: the one announced last of those that cover it.

Announcing tomorrow's plan in the evening supersedes the one that today still goes by.
"""

from __future__ import annotations

from datetime import date, timedelta

from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.planning.models import Plan, PlanStatus


def plans_in_force(group: Group, first: date, last: date) -> dict[date, int]:
    """Plan ids by day, both days included; days that no announced plan covered are left out.
    One query."""
    rows = (
        Plan.objects.of(group)
        .exclude(status=PlanStatus.DRAFT)
        .filter(starts_on__lte=last, starts_on__gt=first - timedelta(days=31))
        .order_by("announced_at", "version")
        .values_list("id", "starts_on", "days")
    )
    found: dict[date, int] = {}
    for plan_id, starts_on, days in rows:
        for on in days_from(starts_on, days):
            if first <= on <= last:
                found[on] = plan_id
    return found
