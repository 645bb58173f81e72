"""Figures are checked before anything is computed from them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.kernel.figures import Figure, FigureError, finite, whole


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, float("1e999")])
def test_what_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(FigureError, match=r"The feed is .*not a finite number; give it in kg"):
        finite(value, "The feed", "kg")


def test_out_of_range_names_figure_and_bound() -> None:
    with pytest.raises(FigureError, match=r"The feed is -1 kg; it must be at least 0 kg"):
        finite(-1, "The feed", "kg")
    with pytest.raises(FigureError, match=r"The pH is 15 pH; it may be at most 14 pH"):
        finite(15, "The pH", "pH", high=14)


@pytest.mark.parametrize("value", [True, "3", None])
def test_what_is_no_number_is_refused(value: object) -> None:
    with pytest.raises(FigureError, match="give it as a number in kg"):
        finite(value, "The feed", "kg")  # type: ignore[arg-type]


@pytest.mark.parametrize("value", [1.0, True, "3"])
def test_whole_takes_only_integers(value: object) -> None:
    with pytest.raises(FigureError, match="give it as whole grams"):
        whole(value, "The feed", "grams")  # type: ignore[arg-type]


@given(st.integers(-10, 10), st.integers(-5, 5), st.integers(-5, 5))
def test_whole_keeps_what_lies_within(value: int, low: int, high: int) -> None:
    if low <= value <= high:
        assert whole(value, "It", "grams", low=low, high=high) == value
    else:
        with pytest.raises(FigureError):
            whole(value, "It", "grams", low=low, high=high)


def test_a_figure_needs_source_and_known_evidence() -> None:
    with pytest.raises(FigureError, match="has no source"):
        Figure(1, "kg", " ", "read")
    with pytest.raises(FigureError, match="use one of read"):
        Figure(1, "kg", "a book", "hearsay")
    with pytest.raises(FigureError, match="high end 0 is below"):
        Figure(1, "kg", "a book", "read", high=0)
