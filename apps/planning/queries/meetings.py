"""When both ends of a trip are open: the hours of places, less the days nobody is there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.places.core.distance import travel_minutes
from apps.places.core.hours import DAY_MIN, Window, merge_windows, overlap_windows, pickup_window
from apps.places.models import Absence, OpeningHours
from apps.supply.queries.calendar import shut_places

ALWAYS = (Window(0, DAY_MIN),)

Windows = tuple[Window, ...]


@dataclass(frozen=True)
class PlaceHours:
    """Open windows of each place on each of the days, by place id."""

    windows: Mapping[int, Sequence[Windows]]
    days: int

    def of(self, place_id: int) -> Sequence[Windows]:
        """One entry a day; a place without any hours is open all day."""
        return self.windows.get(place_id, [ALWAYS] * self.days)


def place_hours(group: Group, first: date, days: int) -> PlaceHours:
    """Hours of every place of the group: four queries. Days of an absence without a keyholder
    are shut, and so are days on which the calendar shuts every source there."""
    weekly: dict[int, dict[int, list[Window]]] = defaultdict(lambda: defaultdict(list))
    for row in OpeningHours.objects.of(group):
        weekly[row.place_id][row.weekday].append(Window(row.opens_min, row.closes_min))
    dates = list(days_from(first, days))
    windows: dict[int, list[Windows]] = {
        place_id: [merge_windows(by_weekday[on.weekday()]) for on in dates]
        for place_id, by_weekday in weekly.items()
    }
    shut = Absence.objects.of(group).filter(
        keyholder=None, first_on__lte=dates[-1], last_on__gte=first
    )
    for absence in shut:
        by_day = windows.setdefault(absence.place_id, [ALWAYS] * days)
        for index, on in enumerate(dates):
            if absence.first_on <= on <= absence.last_on:
                by_day[index] = ()
    for place_id, days_shut in shut_places(group, first, days).items():
        by_day = windows.setdefault(place_id, [ALWAYS] * days)
        for index, on in enumerate(dates):
            if on in days_shut:
                by_day[index] = ()
    return PlaceHours(windows, days)


def meeting(source: Windows, home: Windows, distance_m: int) -> Window | None:
    """The longest time, of equal ones the earliest, to leave the source with the waste: both
    ends are open then, and the home still is on arrival. None when the hours never meet."""
    both = overlap_windows(source, home)
    found = pickup_window(both, home, travel_minutes(distance_m)).windows
    return min(
        found, key=lambda each: (each.opens_min - each.closes_min, each.opens_min), default=None
    )
