"""What the announced plan means to feed, own kitchen waste included."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from apps.groups.models import Group
from apps.planning.models import Plan, PlanStatus


def announced_feeds(group: Group, after: date) -> dict[str, dict[date, dict[str, int]]]:
    """Grams by digester code, day after `after` and material code. One query."""
    found: dict[str, dict[date, dict[str, int]]] = defaultdict(lambda: defaultdict(dict))
    plan = Plan.objects.of(group).filter(status=PlanStatus.ANNOUNCED).first()
    if plan is None:
        return {}
    for day in plan.document.get("digester_days", ()):
        on = date.fromisoformat(day["on"])
        if on > after:
            by_code = found[day["digester"]][on]
            for own in day.get("own_waste", ()):
                by_code[own["material"]] = by_code.get(own["material"], 0) + own["amount_g"]
    for feed in plan.document.get("feeds", ()):
        on = date.fromisoformat(feed["on"])
        if on > after:
            by_code = found[feed["digester"]][on]
            by_code[feed["material"]] = by_code.get(feed["material"], 0) + feed["usable_g"]
    return {code: dict(days) for code, days in found.items()}
