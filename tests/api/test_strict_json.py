"""RFC 8259: a parser may limit size, depth and numbers; names should be unique; no NaN."""

from __future__ import annotations

import io
import json
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rest_framework.exceptions import ParseError

from apps.api.strict_json import MAX_BYTES, BodyTooLarge, StrictJSONParser, read_json

VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**15), 10**15)
    | st.floats(allow_nan=False, allow_infinity=False, width=32)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=10,
)


@given(VALUES)
def test_what_the_standard_library_writes_is_read_back(value: Any) -> None:
    assert read_json(json.dumps(value).encode()) == value


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("NaN", "NaN"),
        ('{"amount_g": Infinity}', "Infinity"),
        ("[-Infinity]", "-Infinity"),
        ("1e999", "1e999"),
        ("-1e999", "-1e999"),
        ("1" * 31, "too long"),
        ('{"a": 1, "a": 2}', "“a” stands twice"),
        ('{"a": {"b": 1, "b": 1}}', "“b” stands twice"),
        ("1_000", "line 1"),
        ("٣", "line 1"),
        ("{'a': 1}", "line 1"),
        ("", "line 1"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_what_could_be_understood_in_two_ways_is_refused(text: str, named: str) -> None:
    with pytest.raises(ParseError) as refused:
        read_json(text.encode())
    assert named in str(refused.value)


def test_bytes_that_are_not_utf_8_are_refused() -> None:
    with pytest.raises(ParseError, match="byte 1"):
        read_json(b'"\xff"')


def test_a_huge_body_is_refused_before_it_is_parsed() -> None:
    with pytest.raises(BodyTooLarge) as refused:
        StrictJSONParser().parse(io.BytesIO(b"[" + b"1," * MAX_BYTES))
    assert refused.value.figures == {"most_bytes": MAX_BYTES}
    assert sys.getrecursionlimit() < 100_000  # the depth test above did go past it
