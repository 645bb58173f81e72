"""Gas falling although the feed stayed the same: when it may be said, and how much."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from apps.digesters.core.gas_fall import gas_fall_share

ON = date(2026, 5, 11)


def days(first: int, later: int) -> dict[date, int]:
    """`later` on each of the five days before `ON`, `first` on the five before those."""
    return {ON - timedelta(days=back): (later if back <= 5 else first) for back in range(1, 11)}


def test_a_fall_of_a_third_on_the_same_feed() -> None:
    assert gas_fall_share(ON, days(90, 60), days(400, 400)) == pytest.approx(1 / 3)


def test_a_rise_is_a_negative_fall() -> None:
    assert gas_fall_share(ON, days(60, 90), days(400, 400)) == pytest.approx(-0.5)


def test_less_gas_from_less_feed_is_no_fall() -> None:
    """By hand: 72 of 90 minutes from 360 of 400 g: 1 - (72/360)/(90/400) = 1/9."""
    assert gas_fall_share(ON, days(90, 72), days(400, 360)) == pytest.approx(1 / 9)


@pytest.mark.parametrize(
    ("burner", "fed"),
    [
        (days(90, 60), days(400, 300)),  # the feed changed by a quarter
        (days(90, 60), days(400, 0)),  # nothing was fed
        (days(0, 60), days(400, 400)),  # there was no gas before
        ({}, days(400, 400)),  # nobody wrote anything down
    ],
)
def test_where_gas_tells_nothing_nothing_is_said(
    burner: dict[date, int], fed: dict[date, int]
) -> None:
    assert gas_fall_share(ON, burner, fed) is None


def test_one_forgotten_day_is_allowed_and_two_are_not() -> None:
    burner = days(90, 60)
    del burner[ON - timedelta(days=2)]
    assert gas_fall_share(ON, burner, days(400, 400)) == pytest.approx(1 / 3)
    del burner[ON - timedelta(days=3)]
    assert gas_fall_share(ON, burner, days(400, 400)) is None
