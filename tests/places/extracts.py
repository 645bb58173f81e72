"""Small extracts written for a test, and a second reading of streets to compare with."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path

import networkx as nx
import numpy as np
import osmium
from osmium.osm.mutable import Node, Way
from pyproj import Geod

HELSINKI = Path(__file__).resolve().parents[1] / "data" / "streets" / "helsinki.osm.pbf"

EARTH = Geod(ellps="WGS84")

Points = Mapping[int, tuple[float, float]]
"""Latitude and longitude by node."""


def extract_of(
    points: Points,
    ways: Sequence[tuple[Sequence[int], Mapping[str, str]]],
    tagged: Mapping[int, Mapping[str, str]] | None = None,
) -> bytes:
    """An .osm.pbf of these nodes and ways."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "small.osm.pbf"
        writer = osmium.SimpleWriter(str(path))
        for number, (latitude, longitude) in points.items():
            tags = dict((tagged or {}).get(number, {}))
            writer.add_node(Node(id=number, location=(longitude, latitude), tags=tags))
        for number, (nodes, tags) in enumerate(ways, start=1):
            writer.add_way(Way(id=number, nodes=list(nodes), tags=dict(tags)))
        writer.close()
        return path.read_bytes()


@cache
def harbour() -> bytes:
    """A grid of streets every 100 m over the cast's harbour quarter."""
    easts, norths = range(-400, 701, 100), range(-400, 501, 100)
    number = {(e, n): 100 * i + j for i, e in enumerate(easts) for j, n in enumerate(norths, 1)}
    points = {at: (38.5 + n * 0.000009, -9.0 + e * 0.000012) for (e, n), at in number.items()}
    street = {"highway": "residential"}
    ways = [([number[e, n] for n in norths], {**street, "name": f"Rise {e}"}) for e in easts] + [
        ([number[e, n] for e in easts], {**street, "name": f"Lane {n}"}) for n in norths
    ]
    return extract_of(points, ways)


@cache
def helsinki() -> bytes:
    """The real town; see the notice beside it."""
    return HELSINKI.read_bytes()


WALKED = {
    "trunk", "primary", "secondary", "tertiary", "trunk_link", "primary_link", "secondary_link",
    "tertiary_link", "unclassified", "residential", "living_street", "service", "road", "track",
    "path", "cycleway", "pedestrian", "footway", "steps", "corridor",
}  # fmt: skip
RIDDEN = WALKED - {"pedestrian", "footway", "steps", "corridor"}
NOT_FOR_ALL = {"no", "private", "military", "permit", "use_sidepath", "agricultural", "forestry"}


@cache
def second_reading(mode: str) -> nx.DiGraph:
    """Helsinki's streets as networkx has them: rules written a second time, lengths [m] by the
    geodesic (pyproj), positions as `place` (latitude, longitude); its largest strong part."""
    shut, pieces = set(), []
    reader = osmium.FileProcessor(str(HELSINKI)).with_locations()
    for thing in reader.with_filter(osmium.filter.KeyFilter("highway", "barrier")):
        tags = dict(thing.tags)
        keys = ("foot", "access") if mode == "foot" else ("bicycle", "vehicle", "access")
        said = next((tags[key] for key in keys if key in tags), None)
        if thing.is_node():
            if "barrier" in tags and _is_shut(tags["barrier"], said, mode):
                shut.add(thing.id)
        elif thing.is_way() and _is_open(tags, said, mode):
            one = 0 if mode == "foot" else _one_way_for_bicycles(tags)
            for start, end in pairwise(thing.nodes):
                if start.ref != end.ref and start.location.valid() and end.location.valid():
                    here, there = (start.lat, start.lon), (end.lat, end.lon)
                    pieces.append((start.ref, end.ref, one, here, there))
    starts, ends = (np.array([piece[at] for piece in pieces]) for at in (3, 4))
    _, _, metres = EARTH.inv(starts[:, 1], starts[:, 0], ends[:, 1], ends[:, 0])
    graph = nx.DiGraph()
    for (start, end, one, here, there), length in zip(pieces, metres.tolist(), strict=True):
        graph.add_node(start, place=here)
        graph.add_node(end, place=there)
        for first, second, is_open in ((start, end, one >= 0), (end, start, one <= 0)):
            if is_open:
                known = graph.get_edge_data(first, second, {}).get("weight", length)
                graph.add_edge(first, second, weight=min(known, length))
    graph.remove_nodes_from(shut)
    return graph.subgraph(max(nx.strongly_connected_components(graph), key=len)).copy()


def _is_shut(barrier: str, said: str | None, mode: str) -> bool:
    if said is not None:
        return said in NOT_FOR_ALL
    solid = {"wall", "fence", "hedge", "city_wall", "retaining_wall", "ditch"}
    narrow = {"stile", "kissing_gate", "turnstile", "full-height_turnstile", "log", "block_step"}
    return barrier in solid or (mode != "foot" and barrier in narrow)


def _is_open(tags: Mapping[str, str], said: str | None, mode: str) -> bool:
    kind = tags.get("highway")
    welcome = {"yes", "designated", "permissive", "official", "destination", "customers"}
    if mode == "bicycle" and kind in ("pedestrian", "footway", "bridleway"):
        return tags.get("bicycle") in welcome
    if mode == "foot" and kind in ("bridleway", "motorway", "motorway_link"):
        return tags.get("foot") in welcome
    if tags.get("construction") == "yes":
        return False
    return kind in (WALKED if mode == "foot" else RIDDEN) and said not in NOT_FOR_ALL


def _one_way_for_bicycles(tags: Mapping[str, str]) -> int:
    ways = {"yes": 1, "true": 1, "1": 1, "-1": -1, "reverse": -1}
    if "oneway:bicycle" in tags:
        return ways.get(tags["oneway:bicycle"], 0)
    one = ways.get(tags.get("oneway", ""), 0)
    if "oneway" not in tags and tags.get("junction") in ("roundabout", "circular"):
        one = 1
    sides = [key for key in tags if key in ("cycleway", "cycleway:left", "cycleway:right",
                                            "cycleway:both")]  # fmt: skip
    for side in sides:
        if tags[side].startswith("opposite"):
            return 0
        lane = tags.get(f"{side}:oneway")
        if tags[side] in ("lane", "track") and lane and ways.get(lane, 0) != one:
            return 0
    return one
