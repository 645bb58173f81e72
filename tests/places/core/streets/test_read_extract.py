"""What is no extract is refused with a sentence; what is one is read whole."""

from __future__ import annotations

import numpy as np
import pytest

from apps.places.core.distance import Point
from apps.places.core.streets import blocks
from apps.places.core.streets import read_extract as reading
from apps.places.core.streets.network import pack_network, unpack_network
from apps.places.core.streets.read_extract import read_extract
from apps.places.core.streets.streets import Streets
from apps.places.core.streets.unreadable import UnreadableExtract
from tests.places.extracts import extract_of, helsinki

SQUARE = {1: (60.0, 25.0), 2: (60.001, 25.0), 3: (60.001, 25.002), 4: (60.0, 25.002)}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"PK\x03\x04 a zip archive", "not an OpenStreetMap extract"),
        (b"<osm version='0.6'></osm>" * 50, "not an OpenStreetMap extract"),
        (b"\x00\x00\x00\x0d", "not an OpenStreetMap extract"),
    ],
)
def test_what_is_no_extract_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(UnreadableExtract, match=says):
        read_extract(data)


@pytest.mark.parametrize("part", [0.2, 0.5, 0.999])
def test_a_file_cut_short_is_refused(part: float) -> None:
    data = helsinki()
    with pytest.raises(UnreadableExtract, match="ends in the middle"):
        read_extract(data[: int(len(data) * part)])


def test_damage_inside_is_refused() -> None:
    data = bytearray(helsinki())
    data[len(data) // 2] ^= 0xFF
    with pytest.raises(UnreadableExtract, match="cut short or damaged"):
        read_extract(bytes(data))


def test_too_much_is_refused_before_it_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blocks, "MOST_UNPACKED_BYTES", 1_000_000)
    with pytest.raises(UnreadableExtract, match="Cut a smaller extract"):
        read_extract(helsinki())
    monkeypatch.setattr(blocks, "MOST_BYTES", 100_000)
    with pytest.raises(UnreadableExtract, match="1 million bytes; 0 million"):
        read_extract(helsinki())


def test_too_many_streets_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_STRETCHES", 100)
    with pytest.raises(UnreadableExtract, match="more than 100 stretches"):
        read_extract(helsinki())


def test_a_point_at_the_other_end_of_the_world_is_a_slip(monkeypatch: pytest.MonkeyPatch) -> None:
    points = {**SQUARE, 5: (-40.0, 170.0)}
    data = extract_of(points, [([1, 2, 5], {"highway": "residential"})])
    network = read_extract(data).network
    assert len(network.start) == 1
    assert network.box == (60.0, 25.0, 60.001, 25.0)
    monkeypatch.setattr(reading, "MOST_KM", 0)
    with pytest.raises(UnreadableExtract, match="km of streets"):
        read_extract(data)


def test_an_extract_without_streets_is_refused() -> None:
    data = extract_of(SQUARE, [([1, 2, 3, 4, 1], {"building": "yes", "name": "Hall"})])
    with pytest.raises(UnreadableExtract, match="no street"):
        read_extract(data)


@pytest.mark.parametrize(
    "tags",
    [
        {"highway": "residential", "foot": "no"},
        {"highway": "motorway"},
        {"highway": "service", "access": "private"},
    ],
)
def test_an_extract_on_which_nobody_may_walk_is_refused(tags: dict[str, str]) -> None:
    with pytest.raises(UnreadableExtract, match="on which people may walk"):
        read_extract(extract_of(SQUARE, [([1, 2, 3, 4], tags)]))


def test_an_island_that_only_a_ferry_reaches_is_no_part_of_the_walk() -> None:
    points = {**SQUARE, 5: (60.01, 25.0), 6: (60.0104, 25.0)}
    streets = [([1, 2, 3, 4, 1], {"highway": "residential"}), ([5, 6], {"highway": "footway"})]
    data = extract_of(points, [*streets, ([4, 5], {"route": "ferry", "foot": "yes"})])
    town = Streets(read_extract(data).network, "foot")
    on = town.snap([Point(60.0005, 25.0), Point(60.0102, 25.0)]).is_on
    assert on.tolist() == [True, False]


def test_a_square_is_walked_around_and_a_roundabout_ridden_one_way() -> None:
    square = extract_of(SQUARE, [([1, 2, 3, 4, 1], {"highway": "pedestrian", "area": "yes"})])
    assert not Streets(read_extract(square).network, "foot").is_empty
    around = {"highway": "residential", "junction": "roundabout"}
    streets = Streets(
        read_extract(extract_of(SQUARE, [([1, 2, 3, 4, 1], around)])).network, "bicycle"
    )
    ends = streets.snap([Point(*SQUARE[1]), Point(*SQUARE[2])])
    there, back = streets.ways_m(ends, ends)[0, 1], streets.ways_m(ends, ends)[1, 0]
    assert back == pytest.approx(streets.length_m - there)


def test_streets_without_their_points_are_refused() -> None:
    with pytest.raises(UnreadableExtract, match="points before ways"):
        read_extract(extract_of(SQUARE, [([97, 98, 99], {"highway": "residential"})]))


def test_a_way_is_broken_where_a_node_is_missing() -> None:
    data = extract_of(SQUARE, [([1, 2, 99, 3, 4], {"highway": "residential"})])
    assert len(read_extract(data).network.start) == 2


def test_streets_names_and_addresses_are_read() -> None:
    data = extract_of(
        {**SQUARE, 5: (60.0005, 25.0001)},
        [
            ([1, 2, 3], {"highway": "secondary", "name": "Long Street"}),
            ([3, 4], {"highway": "steps"}),
            ([1, 4], {"highway": "service", "access": "private", "name": "Yard"}),
        ],
        {5: {"addr:street": "Long Street", "addr:housenumber": "7 B"}},
    )
    found = read_extract(data)
    assert found.network.width.tolist() == [2, 2, 0]
    assert [(each.name, each.street, each.number, each.is_street) for each in found.names] == [
        ("", "Long Street", "7 B", False),
        ("Long Street", "", "", True),
        ("Yard", "", "", True),
    ]
    again = unpack_network(pack_network(found.network))
    assert np.array_equal(again.latitude, found.network.latitude)
    assert np.array_equal(again.use, found.network.use)
