"""Looking addresses up in a real extract. Reference: the addresses as the extract states them,
read a second time below."""

from __future__ import annotations

import random
import re
from functools import cache

import osmium
import pytest
from geopy.exc import GeocoderServiceError
from geopy.geocoders.base import Geocoder

from apps.places.core.gazetteer import Gazetteer
from apps.places.core.streets.named import Named
from apps.places.core.streets.read_extract import read_extract
from tests.places.extracts import HELSINKI, helsinki


@cache
def _gazetteer() -> Gazetteer:
    return Gazetteer(read_extract(helsinki()).names)


@cache
def _doors() -> list[tuple[str, str, float, float]]:
    reader = osmium.FileProcessor(str(HELSINKI), osmium.osm.NODE)
    return [
        (node.tags["addr:street"], node.tags["addr:housenumber"], node.lat, node.lon)
        for node in reader.with_filter(osmium.filter.KeyFilter("addr:housenumber"))
        if "addr:street" in node.tags
        and re.fullmatch(r"\d+([-–/]\d+)? ?[a-zA-Z]?", node.tags["addr:housenumber"])
    ]


def test_addresses_are_found_where_they_are() -> None:
    chance = random.Random(5)
    doors = chance.sample(_doors(), 60)
    assert len(_doors()) > 300
    for street, number, latitude, longitude in doors:
        found = _gazetteer().geocode(f"{street} {number}")
        assert found.raw["exact"], (street, number)
        # Several shops share one door, and a stairway letter may be left out.
        assert abs(found.latitude - latitude) < 0.0015
        assert abs(found.longitude - longitude) < 0.003


def test_slips_of_the_pen_and_missing_accents_are_forgiven() -> None:
    chance = random.Random(6)
    streets = sorted({(street, number) for street, number, *_ in _doors() if len(street) > 9})
    right = 0
    for street, number in chance.sample(streets, 50):
        at = chance.randrange(1, len(street) - 1)
        slip = street[:at] + street[at + 1 :]
        plain = slip.replace("ä", "a").replace("ö", "o").upper()
        right += street in _gazetteer().geocode(f"{plain} {number}").address
    assert right >= 48


def test_a_number_that_is_not_there_gives_the_nearest_on_its_side() -> None:
    doors = [Named("", "Salt Lane", str(n), 15.84 + n / 1e5, -34.9, False) for n in (1, 2, 9, 12)]
    gazetteer = Gazetteer([*doors, Named("Salt Lane", "", "", 15.84, -34.9, True)])
    found = gazetteer.geocode("salt lane, 11")
    assert (found.address, found.raw["exact"]) == ("Salt Lane 9", False)
    assert gazetteer.geocode("Salt Lane 2").raw["exact"]
    street = gazetteer.geocode("Salt Lane")
    assert (street.address, street.raw["exact"]) == ("Salt Lane", True)


def test_what_is_unlike_everything_is_not_found() -> None:
    assert _gazetteer().geocode("Zzyzx 99") is None
    assert _gazetteer().geocode("qqqq", exactly_one=False) is None
    assert Gazetteer([]).geocode("Salt Lane 3") is None
    assert Gazetteer([]).reverse((60.0, 25.0)) is None


def test_a_door_is_named_by_its_point() -> None:
    street, number, latitude, longitude = _doors()[0]
    found = _gazetteer().reverse((latitude, longitude))
    assert f"{street} {number}" in found.address
    assert _gazetteer().reverse((10.0, 10.0)) is None


def test_it_is_a_geocoder_that_uses_no_network() -> None:
    assert isinstance(_gazetteer(), Geocoder)
    with pytest.raises(GeocoderServiceError):
        _gazetteer().adapter.get_json("x", timeout=1, headers={})
