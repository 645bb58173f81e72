"""Charts are valid, say their figures, and put the limit where it belongs."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import combinations
from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from apps.web.charts.drum import draw_drum
from apps.web.charts.feed_bar import EDGE, WIDTH, FeedRange, draw_feed_bar
from apps.web.charts.loading_strip import LoadedDay, draw_loading_strip
from apps.web.charts.plain_map import Link, Spot, draw_map
from apps.web.charts.week_strip import WeekDay, draw_week_strip

MONDAY = date(2026, 5, 11)
grams = st.integers(0, 50_000)


def strip(*days: LoadedDay) -> ElementTree.Element:
    return ElementTree.fromstring(draw_loading_strip(days, letters="MTWTFSS", says="x"))


def classes(root: ElementTree.Element) -> list[str]:
    return [element.get("class", "") for element in root.iter()]


def test_a_day_above_its_maximum_is_marked_by_more_than_colour() -> None:
    fine = strip(LoadedDay(MONDAY, 300, 300))
    over = strip(LoadedDay(MONDAY, 301, 300))
    assert "c-over" not in classes(fine)
    assert "c-over" in classes(over)
    # The cross above the bar is one limit mark more.
    assert classes(over).count("c-limit") == classes(fine).count("c-limit") + 1


def test_a_day_without_a_known_maximum_breaks_the_limit_line() -> None:
    root = strip(
        LoadedDay(MONDAY, 1, 10),
        LoadedDay(MONDAY + timedelta(1), 1, None),
        LoadedDay(MONDAY + timedelta(2), 1, 10),
    )
    path = next(e for e in root.iter() if e.get("class") == "c-limit")
    assert path.get("d", "").count("M") == 2


@settings(max_examples=40)
@given(st.lists(st.tuples(grams, st.none() | grams, st.booleans()), max_size=21))
def test_any_strip_is_valid(rows: list[tuple[int, int | None, bool]]) -> None:
    strip(
        *(
            LoadedDay(MONDAY + timedelta(index), fed, most, is_planned=planned)
            for index, (fed, most, planned) in enumerate(rows)
        )
    )


@settings(max_examples=40)
@given(least=grams, target=grams, most=grams, planned=grams)
def test_a_feed_bar_never_leaves_its_picture(
    least: int, target: int, most: int, planned: int
) -> None:
    drawn = draw_feed_bar(
        FeedRange(least, target, most, planned), marks=("target", "most"), says="x"
    )
    for element in ElementTree.fromstring(drawn).iter():
        if element.get("width"):
            right = float(element.get("x", 0)) + float(element.get("width", 0))
            assert right <= WIDTH - EDGE + 0.2


def test_words_are_escaped() -> None:
    drawn = draw_week_strip([WeekDay("<b>", 1)], says='"><script>')
    assert "<b>" not in drawn
    assert "<script>" not in drawn
    assert "style=" not in drawn


def test_a_week_strip_draws_a_pail_for_each_begun_ten_kilograms() -> None:
    root = ElementTree.fromstring(draw_week_strip([WeekDay("Mon", 20_001)], says="x"))
    assert classes(root).count("c-handle") == 3


def test_a_drum_of_unknown_height_is_drawn_differently() -> None:
    assert draw_drum(None, says="x") != draw_drum(0, says="x")


def test_spots_in_one_place_are_set_apart() -> None:
    spots = [Spot(38.5, -9.0, "home", number) for number in range(1, 6)]
    root = ElementTree.fromstring(draw_map([*spots, Spot(38.6, -9.1, "source", 6)], says="x"))
    homes = {
        (element.get("cx"), element.get("cy"))
        for element in root.iter()
        if element.get("class") == "c-home"
    }
    assert len(homes) == 5


def test_no_spot_of_a_crowded_map_covers_another() -> None:
    """Forty places in a few blocks, each a few metres from the next, and twelve on one point."""
    spots = [
        Spot(38.5 + number % 8 * 2e-4, -9.0 + number // 8 * 2e-4, "home", number)
        for number in range(40)
    ]
    spots += [Spot(38.5004, -9.0, "home", number) for number in range(40, 52)]
    spots.append(Spot(38.51, -8.99, "source", 52))
    root = ElementTree.fromstring(draw_map(spots, says="x"))
    points = [
        (float(element.get("cx", 0)), float(element.get("cy", 0)))
        for element in root.iter()
        if element.get("class") == "c-home"
    ]
    assert len(points) == 52
    # Twice a circle's radius, which is 9.
    assert min(math.dist(*pair) for pair in combinations(points, 2)) > 18
    wide, tall = map(float, root.get("viewBox", "").split()[2:])
    assert all(9 < x < wide - 9 and 9 < y < tall - 9 for x, y in points)


def test_north_is_up_and_east_is_right() -> None:
    spots = [Spot(38.50, -9.00, "home", 1), Spot(38.51, -8.99, "home", 2)]
    root = ElementTree.fromstring(draw_map(spots, [Link(0, 1)], says="x"))
    south, north = (
        (float(element.get("cx", 0)), float(element.get("cy", 0)))
        for element in root.iter()
        if element.get("class") == "c-home"
    )
    assert north[0] > south[0]
    assert north[1] < south[1]


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    # Two points a hundredth of a degree of latitude apart: 1113 m, WGS 84's equator / 36 000.
    spots = [Spot(38.50, -9.0, "home", 1), Spot(38.51, -9.0, "home", 2)]
    root = ElementTree.fromstring(draw_map(spots, says="x"))
    low, high = sorted(float(e.get("cy", 0)) for e in root.iter() if e.get("class") == "c-home")
    bar = next(e for e in root.iter() if e.get("class") == "c-rim-line")
    length = float(bar.get("d", "").split("H")[1].split("v")[0]) - 20
    label = next(e.text for e in root.iter() if e.text and e.text.endswith(" m"))
    assert label is not None
    metres_per_unit = 1113.2 / (high - low)
    assert abs(length * metres_per_unit - float(label.split()[0])) < 2
