"""Local days: a group lives by one time zone, and a fact keeps the local date it had."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def local_date(at: datetime, zone: str) -> date:
    """The date that `at` (aware) has in the IANA zone `zone`."""
    return at.astimezone(ZoneInfo(zone)).date()


def local_instant(on: date, at: time, zone: str) -> datetime:
    """The instant of a wall-clock time, in UTC. A time that a clock change skips falls after
    it; one that happens twice is the first."""
    return datetime.combine(on, at, tzinfo=ZoneInfo(zone)).astimezone(UTC)


def days_from(first: date, count: int) -> Iterator[date]:
    """`count` days, `first` included."""
    return (first + timedelta(days=offset) for offset in range(count))
