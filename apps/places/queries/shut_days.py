"""On which days nobody can be met at a place."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.places.models import Absence, OpeningHours


def shut_days(group: Group, first_on: date, days: int) -> dict[int, set[date]]:
    """By place id: days of absence without a keyholder, and weekdays on which a place with
    opening hours does not open. Two queries."""
    span = list(days_from(first_on, days))
    shut: dict[int, set[date]] = defaultdict(set)
    opens: dict[int, set[int]] = defaultdict(set)
    for place_id, weekday in OpeningHours.objects.of(group).values_list("place_id", "weekday"):
        opens[place_id].add(weekday)
    for place_id, weekdays in opens.items():
        shut[place_id].update(on for on in span if on.weekday() not in weekdays)
    away = Absence.objects.of(group).filter(
        first_on__lte=span[-1], last_on__gte=first_on, keyholder=None
    )
    for place_id, from_on, till_on in away.values_list("place_id", "first_on", "last_on"):
        shut[place_id].update(on for on in span if from_on <= on <= till_on)
    return dict(shut)
