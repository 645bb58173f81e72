"""Opening hours: reading, joining, and when two ends meet."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.kernel.figures import FigureError
from apps.places.core.hours import (
    DAY_MIN,
    Window,
    merge_windows,
    overlap_windows,
    parse_windows,
    pickup_window,
)

MINUTES = st.integers(0, DAY_MIN)
WINDOWS = st.lists(
    st.tuples(MINUTES, MINUTES)
    .filter(lambda pair: pair[0] != pair[1])
    .map(lambda pair: Window(min(pair), max(pair))),
    max_size=4,
).map(tuple)


def minutes_of(windows: tuple[Window, ...]) -> set[int]:
    """Every minute, counted one by one: an independent way to say the same hours."""
    return {m for window in windows for m in range(window.opens_min, window.closes_min)}


def test_reading_hours() -> None:
    assert parse_windows("16:00-18:30; 6:00-10:00") == (Window(360, 600), Window(960, 1110))
    assert parse_windows("00:00-24:00") == (Window(0, 1440),)
    assert parse_windows("  ") == ()
    assert str(Window(360, 615)) == "06:00-10:15"


@pytest.mark.parametrize("text", ["6-10", "06:00", "06:60-07:00", "24:01-24:30", "a:bc-10:00"])
def test_unreadable_hours_are_refused(text: str) -> None:
    with pytest.raises(FigureError, match="cannot be read"):
        parse_windows(text)


@pytest.mark.parametrize("text", ["22:00-02:00", "10:00-10:00"])
def test_hours_across_midnight_are_refused(text: str) -> None:
    with pytest.raises(FigureError, match="given as two: until 24:00"):
        parse_windows(text)


def test_collect_here_and_arrive_there() -> None:
    # Open 06:00-10:00, home 06:30-07:30 and 09:50-12:00, twenty minutes apart.
    hours = pickup_window(
        parse_windows("06:00-10:00"), parse_windows("06:30-07:30; 09:50-12:00"), 20
    )
    assert hours.windows == (Window(370, 430), Window(570, 600))
    assert hours.reason is None


def test_hours_that_never_meet_say_why() -> None:
    hours = pickup_window(parse_windows("06:00-10:00"), parse_windows("17:00-20:00"), 15)
    assert hours.windows == ()
    assert str(hours.reason) == (
        "The hours never meet: the source is open 06:00-10:00, the home receives 17:00-20:00, "
        "and the way takes 15 minutes. Change one of the hours or name a neighbour who receives."
    )


def test_closed_ends_say_so() -> None:
    open_all_day = parse_windows("00:00-24:00")
    assert "source is closed" in str(pickup_window((), open_all_day, 5).reason)
    assert "Nobody receives" in str(pickup_window(open_all_day, (), 5).reason)


def test_too_short_a_window_is_none() -> None:
    ours, theirs = parse_windows("06:00-10:00"), parse_windows("10:06-11:00")
    assert pickup_window(ours, theirs, 10).windows == ()
    assert pickup_window(ours, theirs, 11).windows == (Window(595, 600),)


@given(WINDOWS)
def test_joining_keeps_every_minute(windows: tuple[Window, ...]) -> None:
    merged = merge_windows(windows)
    assert minutes_of(merged) == minutes_of(windows)
    assert all(a.closes_min < b.opens_min for a, b in pairwise(merged))


@given(WINDOWS, WINDOWS)
def test_overlap_is_what_both_hold(ours: tuple[Window, ...], theirs: tuple[Window, ...]) -> None:
    assert minutes_of(overlap_windows(ours, theirs)) == minutes_of(ours) & minutes_of(theirs)


@given(WINDOWS, WINDOWS, st.integers(0, 300))
def test_a_pickup_is_within_both_hours(
    source: tuple[Window, ...], home: tuple[Window, ...], travel_min: int
) -> None:
    hours = pickup_window(source, home, travel_min, least_min=1)
    received = minutes_of(home)
    meeting = {m for m in minutes_of(source) if m + travel_min in received}
    assert minutes_of(hours.windows) == meeting
    assert (hours.reason is None) == bool(meeting)
