"""Whoever lives at an address sees who opened it, when and why; nobody else does."""

from __future__ import annotations

from datetime import timedelta

from apps.places.operations.open_address import open_address
from apps.planning.queries.address_openings import address_openings
from tests.cast import Cast


def test_openings_of_own_places_latest_first(cast: Cast) -> None:
    later = cast.now + timedelta(hours=1)
    open_address(cast.drum.place, by=cast.carla, reason="Smell of gas", now=cast.now)
    open_address(cast.drum.place, by=cast.carla, reason="Nobody answers", now=later)
    open_address(cast.dome.place, by=cast.carla, reason="Another home", now=later)
    shown = [(each.at, each.by, each.reason) for each in address_openings(cast.duarte)]
    assert shown == [(later, "Carla", "Nobody answers"), (cast.now, "Carla", "Smell of gas")]
    assert address_openings(cast.carla) == []


def test_a_source_contact_sees_them_too(cast: Cast) -> None:
    open_address(cast.quay_stall.place, by=cast.carla, reason="Lost", now=cast.now)
    assert [each.reason for each in address_openings(cast.filipe)] == ["Lost"]
