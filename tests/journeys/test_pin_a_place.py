"""A tap on the map of a place writes where it is."""

from __future__ import annotations

import pytest

from tests.cast import Cast
from tests.journeys.conftest import OpenAs
from tests.places.extracts import harbour
from tests.places.operations.test_import_streets import bring_in

pytestmark = pytest.mark.browser


def test_a_tap_moves_the_pin_and_fills_the_coordinates(
    neighbourhood: Cast, open_as: OpenAs
) -> None:
    bring_in(neighbourhood, harbour())
    page = open_as(neighbourhood.ana, "/g/harbour/places/quay/")
    picture = page.locator("[data-pin-map] svg")
    box = picture.bounding_box()
    assert box
    # The pin stands in the middle, 20 units above that for the scale bar; 500 m are 528 units.
    picture.click(position={"x": box["width"] / 2 + box["width"] * 52.8 / 640, "y": 40})
    longitude = float(page.get_by_label("Longitude").input_value())
    assert longitude == pytest.approx(-9 + 50 / 87_100, abs=2e-5)
    assert float(page.get_by_label("Latitude").input_value()) > 38.5
    page.get_by_role("button", name="Save the place").last.click()
    neighbourhood.quay_stall.place.refresh_from_db()
    assert float(neighbourhood.quay_stall.place.longitude) == longitude
