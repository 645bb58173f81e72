"""Amounts are read strictly, and nothing that was written comes back different."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.kernel.quantities import MAX_FACT, UnreadableAmount, in_thousands, parse_thousandths


@pytest.mark.parametrize(
    ("text", "mark", "grams"),
    [
        ("2.5", ".", 2500),
        ("2,5", ",", 2500),
        (" 0.001 ", ".", 1),
        ("2000", ".", MAX_FACT),
        ("7", ",", 7000),
    ],
)
def test_kilograms_are_read_as_whole_grams(text, mark, grams):
    assert parse_thousandths(text, unit="kg", decimal_mark=mark) == grams


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2,5",
        "1_000",
        "1e5",
        "NaN",
        "1e999",
        "-1",
        "+1",
        "٣",
        "1.2345",
        "2000.001",
        "0",
        "9" * 99,
    ],
)
def test_anything_else_is_refused_with_a_sentence(text):
    with pytest.raises(UnreadableAmount) as refused:
        parse_thousandths(text, unit="kg")
    assert "kg" in str(refused.value)
    assert len(str(refused.value)) < 160


def test_nothing_may_be_written_where_zero_is_allowed():
    assert parse_thousandths("0", unit="kg", least=0) == 0


@given(st.integers(1, MAX_FACT))
def test_what_is_written_is_read_back(amount):
    assert parse_thousandths(in_thousands(amount), unit="kg") == amount
