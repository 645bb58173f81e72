"""How long waste may wait."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.kernel.figures import FigureError
from apps.supply.core.holding import (
    COLDEST_C,
    HOLDING_TABLES,
    HOTTEST_C,
    HoldingStep,
    HoldingTable,
    feed_by,
    shelf_life_days,
)

TEMPERATURES = st.floats(COLDEST_C, HOTTEST_C)


@pytest.mark.parametrize(
    ("celsius", "days"),
    # Practice (from memory): same day above 30 °C, <= 2 d at 20-25 °C, <= 3-4 d below 15 °C.
    [(35, 0), (30.1, 0), (30, 1), (27, 1), (25, 2), (20, 2), (17, 2), (15, 2), (14, 3), (2, 3)],
)
def test_wet_food_waste(celsius: float, days: int) -> None:
    assert shelf_life_days("wet", celsius) == days


def test_nothing_that_breeds_flies_waits_a_week() -> None:
    """House fly 7-10 d from egg to adult (pestonil; Doane 1910)."""
    for holding in ("wet", "dung"):
        assert shelf_life_days(holding, COLDEST_C) < 7


def test_animal_waste_keeps_a_day_less() -> None:
    assert shelf_life_days("wet", 20, ("animal", "protein")) == 1
    assert shelf_life_days("wet", 35, ("animal",)) == 0


def test_feed_by_is_a_local_day() -> None:
    assert feed_by(date(2030, 6, 30), "wet", 20) == date(2030, 7, 2)


@given(st.sampled_from(sorted(HOLDING_TABLES)), TEMPERATURES, TEMPERATURES)
def test_no_gaps_and_warmer_never_keeps_longer(holding: str, one: float, other: float) -> None:
    cooler, warmer = sorted((one, other))
    assert 0 <= shelf_life_days(holding, warmer) <= shelf_life_days(holding, cooler)


@pytest.mark.parametrize("celsius", [float("nan"), float("inf"), 99.0])
def test_impossible_temperatures_are_refused(celsius: float) -> None:
    with pytest.raises(FigureError, match="air temperature"):
        shelf_life_days("wet", celsius)


@pytest.mark.parametrize(
    ("steps", "message"),
    [
        ((HoldingStep(20, 2),), "stop short"),
        ((), "stop short"),
        ((HoldingStep(20, 1), HoldingStep(HOTTEST_C, 2)), "cannot keep 2 days"),
        ((HoldingStep(70, 2), HoldingStep(HOTTEST_C, 1)), "cold to warm"),
        ((HoldingStep(HOTTEST_C, -1),), "at least 0"),
    ],
)
def test_tables_with_gaps_are_refused(steps: tuple[HoldingStep, ...], message: str) -> None:
    with pytest.raises(FigureError, match=message):
        HoldingTable(steps, "invented")


def test_unknown_keeping_is_refused() -> None:
    with pytest.raises(FigureError, match="how 'frozen' keeps"):
        shelf_life_days("frozen", 5)
