"""What a plan reckons with of a batch. A ruling of ours; checked against its own statement."""

from __future__ import annotations

import pytest

from apps.supply.core.forecast import reckoned_g


@pytest.mark.parametrize(
    ("low_g", "expected_g", "reckoned"),
    [
        (6_700, 9_000, 6_700),
        (0, 9_000, 4_500),
        (600, 900, 900),
        (0, 1_500, 1_000),
        (0, 0, 0),
        (8_000, 8_000, 8_000),
    ],
)
def test_what_surely_comes_or_half_or_all_of_little(
    low_g: int, expected_g: int, reckoned: int
) -> None:
    assert reckoned_g(low_g, expected_g) == reckoned
