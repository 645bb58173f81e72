"""Coordinates of a sheet as degrees or as an Open Location Code. Reference of the codes: the
published test vectors of google/open-location-code (tests/data/open_location_code)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from apps.places.models import Place
from apps.reports.exchange.apply_import import ImportRefused, apply_import
from apps.reports.exchange.degrees import Degrees
from apps.reports.exchange.problem import BadCell
from tests.cast import Cast


def test_a_code_gives_both_coordinates_and_comes_out_as_degrees(cast: Cast) -> None:
    text = "code,name,latitude,longitude\nloft,Loft,7FG49QCJ+2V,7FG49QCJ+2V\n"
    apply_import(cast.group, "places", text.encode(), now=cast.now)
    loft = Place.objects.of(cast.group).get(code="loft")
    # Between 20.37 and 20.370125 north, 2.782125 and 2.78225 east.
    assert float(loft.latitude) == pytest.approx(20.3700625, abs=1e-6)
    assert float(loft.longitude) == pytest.approx(2.7821875, abs=1e-6)
    assert Degrees("latitude").show(loft.latitude).startswith("20.37006")
    again = apply_import(cast.group, "places", text.encode(), now=cast.now)
    assert (again.added, again.changed, again.same) == (0, 0, 1)


@pytest.mark.parametrize(
    ("cell", "says"),
    [("CJ+2VX", "short code"), ("7FG49Q00+", "whole area"), ("7FG49QCJ+2", "no Open Location")],
)
def test_a_code_that_names_no_spot_is_refused(cell: str, says: str) -> None:
    with pytest.raises(BadCell, match=says):
        Degrees("latitude").parse(cell, ".")


def test_degrees_are_degrees(cast: Cast) -> None:
    assert Degrees("longitude").parse("-120,5", ",") == Decimal("-120.5")
    with pytest.raises(BadCell):
        Degrees("latitude").parse("120.5", ".")
    with pytest.raises(ImportRefused):
        apply_import(
            cast.group, "places", b"code,name,latitude,longitude\nx,X,CJ+2V,1\n", now=cast.now
        )
