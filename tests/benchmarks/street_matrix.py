"""Ways between many points of a real town: `python -m tests.benchmarks.street_matrix`.

On the extract under tests/data/streets. Bars: 200 × 200 ways in at most 1 s of CPU after the
streets are loaded; 1,000 random pairs equal to networkx over a second reading of the file, whose
lengths are geodesics by pyproj. One row is one Dijkstra, O(n log n) in the stretches, so a matrix
of k points grows with k; the cells themselves with k², which shows only for many.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import networkx as nx
import numpy as np

from apps.places.core.distance import Point
from apps.places.core.streets.network import pack_network, unpack_network
from apps.places.core.streets.read_extract import read_extract
from apps.places.core.streets.streets import Streets
from apps.places.core.streets.tags import MODES
from tests.places.extracts import helsinki, second_reading

SIZES = (50, 200, 800)
BAR_S = 1.0
PAIRS = 1_000
RELATIVE = 1e-6
"""Between the plane at the middle latitude and the geodesic, over one stretch."""


def main() -> int:
    """Print the table; 1 when a bar is missed."""
    extract, reading_s = _timed(lambda: read_extract(helsinki()))
    packed = pack_network(extract.network)
    network, loading_s = _timed(lambda: unpack_network(packed))
    print(f"file {len(helsinki()) / 1000:.0f} kB, stored {len(packed) / 1000:.0f} kB")
    print(f"reading the file {reading_s:.2f} s CPU, loading the stored streets {loading_s:.3f} s")
    print(f"{'by':8} {'stretches':>9} {'km':>6} {'graph s':>8}", end="")
    print("".join(f"{f'{size}² s':>9}" for size in SIZES), " ratio to the size before")
    good = True
    for mode in MODES:
        streets, graph_s = _timed(lambda mode=mode: _ready(network, mode))
        spent = []
        for size in SIZES:
            points = _points(network.box, size)
            snapped = streets.snap(points)
            _, seconds = _timed(lambda s=streets, at=snapped: s.ways_m(at, at))
            spent.append(seconds)
        growth = ", ".join(f"{b / a:.1f}" for a, b in pairwise(spent))
        print(f"{mode:8} {streets.graph.nnz:>9} {streets.length_m / 1000:>6.1f} {graph_s:>8.3f}"
              f"{''.join(f'{seconds:>9.3f}' for seconds in spent)}  {growth}")  # fmt: skip
        good &= spent[1] <= BAR_S
    for mode in ("foot", "bicycle"):
        worst, reference_s, own_s = _against_networkx(Streets(network, mode), mode)  # type: ignore[arg-type]
        print(
            f"{PAIRS} random pairs by {mode}: largest relative difference from networkx "
            f"{worst:.1e} (bar {RELATIVE:.0e}); networkx {reference_s / own_s:.0f} times the CPU"
        )
        good &= worst <= RELATIVE
    print("bars kept" if good else "BARS MISSED")
    return 0 if good else 1


def _timed(run: Callable[[], Any]) -> tuple[Any, float]:
    before = time.process_time()
    result = run()
    return result, time.process_time() - before


def _ready(network: Any, mode: Any) -> Streets:
    streets = Streets(network, mode)
    streets.snap(_points(network.box, 1))
    _ = streets.graph
    return streets


def _points(box: tuple[float, float, float, float], count: int) -> list[Point]:
    chance = np.random.default_rng(count)
    south, west, north, east = box
    return [
        Point(float(latitude), float(longitude))
        for latitude, longitude in zip(
            chance.uniform(south, north, count), chance.uniform(west, east, count), strict=True
        )
    ]


def _against_networkx(streets: Streets, mode: str) -> tuple[float, float, float]:
    graph = second_reading(mode)
    chance = np.random.default_rng(1)
    nodes = sorted(graph)
    pairs = chance.choice(nodes, (PAIRS, 2)).tolist()
    expected, reference_s = _timed(
        lambda: [nx.dijkstra_path_length(graph, start, end) for start, end in pairs]
    )
    here, there = (
        streets.snap([Point(*graph.nodes[pair[side]]["place"]) for pair in pairs])
        for side in (0, 1)
    )
    ways, own_s = _timed(lambda: np.diag(streets.ways_m(here, there)))
    wanted = np.array(expected)
    return float(np.max(np.abs(ways - wanted) / np.maximum(wanted, 1))), reference_s, own_s


if __name__ == "__main__":
    sys.exit(main())
