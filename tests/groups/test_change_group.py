"""A group's own choices."""

from __future__ import annotations

from typing import Any

import pytest

from apps.groups.models import Fact
from apps.groups.operations.change_group import UnusableChoice, change_group
from apps.groups.operations.save_row import UnfitRow
from tests.cast import Cast


def test_a_change_is_saved_with_its_fact(cast: Cast) -> None:
    changed = change_group(cast.group, {"reach_m": 900, "language": "en"}, now=cast.now)
    assert changed.reach_m == 900
    fact = Fact.objects.of(cast.group).get(kind="group_changed")
    assert fact.payload == {"fields": ["reach_m"]}, "what stayed the same is not named"


@pytest.mark.parametrize(
    "changes",
    [
        {"air_normals_c": [10.0] * 11},
        {"air_normals_c": [float("nan")] * 12},
        {"air_normals_c": [90] * 12},
        {"air_normals_c": "warm"},
        {"code": "mine"},
    ],
)
def test_what_cannot_be_is_refused(cast: Cast, changes: dict[str, Any]) -> None:
    with pytest.raises(UnusableChoice):
        change_group(cast.group, changes, now=cast.now)


@pytest.mark.parametrize("changes", [{"reach_m": 10}, {"time_zone": "Mars/Olympus"}, {"name": ""}])
def test_fields_keep_their_limits(cast: Cast, changes: dict[str, Any]) -> None:
    with pytest.raises(UnfitRow):
        change_group(cast.group, changes, now=cast.now)
