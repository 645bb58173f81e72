"""Opening hours in the notation of OpenStreetMap: `Mo-Fr 08:00-12:00,14:00-18:00; Sa 09:00-13:00`.

Only weekdays and times; see the OpenStreetMap wiki, "Key:opening_hours" (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from apps.kernel.words import gettext_noop
from apps.places.operations.save_place import Window
from apps.reports.exchange.cell_text import shorten
from apps.reports.exchange.problem import BadCell

DAYS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")


@dataclass(frozen=True, slots=True)
class Hours:
    """Windows by weekday; none: open at all hours."""

    def parse(self, text: str, decimal_mark: str) -> tuple[Window, ...]:
        """Sorted windows that do not overlap."""
        windows: list[Window] = []
        for part in (part.strip() for part in text.split(";")):
            if not part:
                continue
            days, _space, times = part.partition(" ")
            for weekday in _weekdays(days):
                for time in times.split(","):
                    windows.append(Window(weekday, *_minutes(time.strip())))
        windows.sort()
        for one, after in pairwise(windows):
            if one.weekday == after.weekday and after.opens_min < one.closes_min:
                raise BadCell(
                    gettext_noop("Two windows on %(day)s overlap. Make one of them."),
                    figures={"day": DAYS[one.weekday]},
                )
        return tuple(windows)

    def show(self, value: Sequence[Window] | None) -> str:
        """Days with the same times together."""
        times = {
            weekday: ",".join(f"{_clock(w.opens_min)}-{_clock(w.closes_min)}" for w in windows)
            for weekday, windows in groupby(sorted(value or ()), key=lambda w: w.weekday)
        }
        parts: list[str] = []
        weekday = 0
        while weekday < len(DAYS):
            last = weekday
            while last + 1 < len(DAYS) and times.get(last + 1) == times.get(weekday):
                last += 1
            if weekday in times:
                days = DAYS[weekday] if last == weekday else f"{DAYS[weekday]}-{DAYS[last]}"
                parts.append(f"{days} {times[weekday]}")
            weekday = last + 1
        return "; ".join(parts)


def _weekdays(text: str) -> list[int]:
    found: list[int] = []
    for part in text.split(","):
        first, dash, last = part.partition("-")
        if first not in DAYS or (dash and last not in DAYS):
            raise BadCell(
                gettext_noop(
                    "“%(given)s” is not a weekday. Use Mo, Tu, We, Th, Fr, Sa, Su, or Mo-Fr."
                ),
                figures={"given": shorten(part)},
            )
        end = DAYS.index(last) if dash else DAYS.index(first)
        found += range(DAYS.index(first), end + 1)
    return found


def _minutes(text: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{2}):(\d{2})-(\d{2}):(\d{2})", text, flags=re.ASCII)
    if match:
        opens, closes = (
            int(hour) * 60 + int(minute) for hour, minute in (match.group(1, 2), match.group(3, 4))
        )
        if all(int(minute) < 60 for minute in match.group(2, 4)) and opens < closes <= 1440:
            return opens, closes
    raise BadCell(
        gettext_noop("“%(given)s” is not a time of day from-to. Write it like 08:00-17:30."),
        figures={"given": shorten(text)},
    )


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
