"""Local days across clock changes, in zones of whole and half hours."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest

from apps.kernel.days import days_from, local_date, local_instant


@pytest.mark.parametrize(
    ("instant", "zone", "on"),
    [
        # Rules of the IANA time zone database: Lisbon is UTC+1 in summer, Adelaide UTC+9:30.
        ("2026-07-01T23:10:00", "Europe/Lisbon", date(2026, 7, 2)),
        ("2026-01-01T23:10:00", "Europe/Lisbon", date(2026, 1, 1)),
        ("2026-07-01T14:40:00", "Australia/Adelaide", date(2026, 7, 2)),
    ],
)
def test_the_date_is_the_groups_own(instant, zone, on):
    assert local_date(datetime.fromisoformat(instant).replace(tzinfo=UTC), zone) == on


def test_a_skipped_hour_falls_after_the_change():
    # Lisbon's clocks go from 01:00 to 02:00 on 29 March 2026 (IANA tzdata).
    instant = local_instant(date(2026, 3, 29), time(1, 30), "Europe/Lisbon")
    assert instant == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)


def test_a_doubled_hour_is_the_first():
    # Lisbon's clocks go from 02:00 back to 01:00 on 25 October 2026 (IANA tzdata).
    instant = local_instant(date(2026, 10, 25), time(1, 30), "Europe/Lisbon")
    assert instant == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


def test_days_are_counted_over_a_leap_day():
    assert list(days_from(date(2028, 2, 28), 3))[1:] == [date(2028, 2, 29), date(2028, 3, 1)]
