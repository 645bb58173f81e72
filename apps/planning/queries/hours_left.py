"""When people can meet in a week whose first day may have begun."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from apps.places.core.hours import LEAST_MIN, Window
from apps.planning.queries.meetings import Windows, meeting

Ends = tuple[str, str]
"""A source's and a digester's code."""


@dataclass(frozen=True)
class Meetings:
    """Hours by code and day. `passed_min` of the first day are over, except for the ends in
    `under_way`: their pickup was announced, and whoever is late may still be coming."""

    source_hours: Mapping[str, Sequence[Windows]]
    digester_hours: Mapping[str, Sequence[Windows]]
    distances_m: Mapping[Ends, int]
    passed_min: int
    under_way: frozenset[Ends]

    def of(self, source: str, digester: str, day: int) -> Window | None:
        """When to leave the source with the waste."""
        open_at = self.source_hours[source][day]
        if day == 0 and (source, digester) not in self.under_way:
            open_at = left_of(open_at, self.passed_min)
        return meeting(
            open_at, self.digester_hours[digester][day], self.distances_m[source, digester]
        )


def passed_minutes(on: date, at: datetime | None, zone: str) -> int:
    """Minutes of the local day `on` that are over at `at`; 0 for a day that has not begun and
    where `at` is None."""
    if at is None:
        return 0
    local = at.astimezone(ZoneInfo(zone))
    return local.hour * 60 + local.minute if local.date() == on else 0


def left_of(windows: Windows, passed_min: int) -> Windows:
    """The windows without what is over."""
    return tuple(
        Window(max(each.opens_min, passed_min), each.closes_min)
        for each in windows
        if each.closes_min - max(each.opens_min, passed_min) >= LEAST_MIN
    )
