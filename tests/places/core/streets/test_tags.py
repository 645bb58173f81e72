"""Who may use a way. Expected values: OpenStreetMap wiki, "Key:oneway:bicycle", "Key:access",
"OSM tags for routing/Access restrictions" (read), "Key:oneway" (from memory)."""

from __future__ import annotations

import pytest

from apps.places.core.streets.tags import may_pass, may_use

BOTH, ALONG, AGAINST, SHUT = (True, True), (True, False), (False, True), (False, False)


@pytest.mark.parametrize(
    ("tags", "foot", "bicycle", "cart"),
    [
        ("highway=residential", BOTH, BOTH, BOTH),
        ("highway=residential oneway=yes", BOTH, ALONG, BOTH),
        ("highway=residential oneway=-1", BOTH, AGAINST, BOTH),
        ("highway=residential oneway=yes oneway:bicycle=no", BOTH, BOTH, BOTH),
        ("highway=residential oneway:bicycle=-1", BOTH, AGAINST, BOTH),
        ("highway=residential oneway=yes cycleway=opposite", BOTH, BOTH, BOTH),
        ("highway=residential oneway=yes cycleway:left=opposite_lane", BOTH, BOTH, BOTH),
        (
            "highway=residential oneway=yes cycleway:left=lane cycleway:left:oneway=-1",
            BOTH, BOTH, BOTH,
        ),
        ("highway=residential oneway=yes cycleway:left=lane", BOTH, ALONG, BOTH),
        ("highway=tertiary junction=roundabout", BOTH, ALONG, BOTH),
        ("highway=tertiary junction=roundabout oneway=no", BOTH, BOTH, BOTH),
        ("highway=steps", BOTH, SHUT, SHUT),
        ("highway=footway", BOTH, SHUT, BOTH),
        ("highway=footway bicycle=yes", BOTH, BOTH, BOTH),
        ("highway=footway oneway:foot=yes", ALONG, SHUT, ALONG),
        ("highway=pedestrian", BOTH, SHUT, BOTH),
        ("highway=cycleway", BOTH, BOTH, BOTH),
        ("highway=cycleway foot=no", SHUT, BOTH, SHUT),
        ("highway=bridleway", SHUT, SHUT, SHUT),
        ("highway=motorway", SHUT, SHUT, SHUT),
        ("highway=trunk motorroad=yes", SHUT, SHUT, SHUT),
        ("highway=construction", SHUT, SHUT, SHUT),
        ("highway=service access=private", SHUT, SHUT, SHUT),
        ("highway=service access=private foot=yes", BOTH, SHUT, BOTH),
        ("highway=service vehicle=no", BOTH, SHUT, BOTH),
        ("highway=primary bicycle=use_sidepath", BOTH, SHUT, BOTH),
        ("highway=residential oneway=yes bicycle:oneway=no", BOTH, BOTH, BOTH),
        ("highway=residential foot=no", SHUT, BOTH, SHUT),
        ("highway=residential access=no bicycle=yes", SHUT, BOTH, SHUT),
        ("highway=service access=customers", BOTH, BOTH, BOTH),
        ("highway=track access=forestry foot=yes", BOTH, SHUT, BOTH),
        ("highway=residential motor_vehicle=no", BOTH, BOTH, BOTH),
        ("highway=steps bicycle=yes", BOTH, SHUT, SHUT),
        ("highway=pedestrian area=yes", BOTH, SHUT, BOTH),
        ("highway=proposed", SHUT, SHUT, SHUT),
        ("highway=residential construction=yes", SHUT, SHUT, SHUT),
        ("highway=tertiary_link junction=circular oneway:bicycle=no", BOTH, BOTH, BOTH),
        ("route=ferry foot=yes", SHUT, SHUT, SHUT),  # It keeps hours of its own and asks a fare.
        ("waterway=river", SHUT, SHUT, SHUT),
    ],
)  # fmt: skip
def test_who_may_use_a_way(
    tags: str, foot: tuple[bool, bool], bicycle: tuple[bool, bool], cart: tuple[bool, bool]
) -> None:
    pairs = dict(pair.split("=") for pair in tags.split())
    assert may_use(pairs, "foot") == foot
    assert may_use(pairs, "bicycle") == bicycle
    assert may_use(pairs, "cart") == cart


DEFAULTS = {
    "motorway": "no no",
    "trunk primary secondary tertiary unclassified residential living_street road": "yes yes",
    "path": "yes yes",
    "bridleway": "no no",
    "footway pedestrian": "no yes",
    "cycleway": "yes no",
}
"""Bicycle and foot, untagged: OpenStreetMap wiki, "OSM tags for routing/Access restrictions",
revision 164643, default for all countries."""

WALKED_ON = {"cycleway"}
"""Where the service departs from that table: later revisions let people walk there in most
countries; a street walked that is not open to walkers is mended by its tag foot=no."""


@pytest.mark.parametrize(
    ("kind", "bicycle", "foot"),
    [(kind, *said.split()) for kinds, said in DEFAULTS.items() for kind in kinds.split()],
)
def test_defaults_are_those_of_the_published_table(kind: str, bicycle: str, foot: str) -> None:
    assert may_use({"highway": kind}, "bicycle") == (BOTH if bicycle == "yes" else SHUT)
    walks = foot == "yes" or kind in WALKED_ON
    assert may_use({"highway": kind}, "foot") == (BOTH if walks else SHUT)
    assert may_use({"highway": kind}, "cart") == (BOTH if walks else SHUT)


@pytest.mark.parametrize(
    ("tags", "foot", "cart"),
    [
        ("", True, True),
        ("barrier=gate", True, True),
        ("barrier=gate access=private", False, False),
        ("barrier=bollard", True, True),
        ("barrier=stile", True, False),
        ("barrier=kissing_gate", True, False),
        ("barrier=wall", False, False),
    ],
)
def test_who_passes_a_barrier(tags: str, foot: bool, cart: bool) -> None:
    pairs = dict(pair.split("=") for pair in tags.split())
    assert may_pass(pairs, "foot") is foot
    assert may_pass(pairs, "cart") is cart
