"""What the group's calendar says of days to come."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.supply.core.day_effects import DayEffect, unusual_days
from apps.supply.models import CalendarDay, Source


def day_effects(group: Group) -> list[DayEffect]:
    """Every entry of the calendar. One query."""
    return [row.effect() for row in CalendarDay.objects.of(group)]


def shut_places(group: Group, first_on: date, days: int) -> dict[int, set[date]]:
    """By place id, days on which the calendar shuts every source there. Two queries."""
    effects = [each for each in day_effects(group) if each.amount_percent == 0]
    if not effects:
        return {}
    kinds: dict[int, set[str]] = defaultdict(set)
    for place_id, kind in Source.objects.of(group).values_list("place_id", "kind"):
        kinds[place_id].add(kind)
    span = list(days_from(first_on, days))
    shut = {
        kind: set(unusual_days(effects, kind, span)) for kind in set().union(*kinds.values())
    } if kinds else {}  # fmt: skip
    return {
        place_id: set.intersection(*(shut[kind] for kind in of_place))
        for place_id, of_place in kinds.items()
    }
