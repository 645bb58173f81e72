"""An OpenStreetMap extract (.osm.pbf) read into a network of streets and its addresses."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import osmium
import osmium.filter
import osmium.io
from osmium.osm import Node, Way

from apps.kernel.sentences import Sentence, gettext_noop
from apps.places.core.streets.blocks import check_blocks
from apps.places.core.streets.named import Named, name_of
from apps.places.core.streets.network import Network, distance_m, use_bits
from apps.places.core.streets.tags import MODES, may_pass, may_use
from apps.places.core.streets.unreadable import UnreadableExtract

MOST_STRETCHES = 400_000
"""About a town of half a million people; more would fill the memory of a small machine."""

MOST_KM = 20_000
"""Of streets; a town of that size has a third of it. Assumed."""

LONGEST_M = 20_000
"""Neighbouring points of a street lie nearer than this; farther ones are a slip, or stand on
either side of the 180th meridian."""

MOST_NAMES = 100_000

_NO_STREETS = gettext_noop(
    "The extract has no street on which people may walk. Cut one that covers the neighbourhood, "
    "with all of its ways."
)
_NO_POSITIONS = gettext_noop(
    "The extract has streets without positions. Cut it anew with all ways complete, points before "
    "ways."
)
_TOO_MANY = gettext_noop(
    "The extract has more than %(most)s stretches of street. Cut a smaller one around the "
    "neighbourhood."
)
_TOO_LONG = gettext_noop(
    "The extract has more than %(most)s km of streets. Cut a smaller one around the neighbourhood."
)
_DAMAGED = gettext_noop(
    "The file cannot be read to its end; it was cut short or damaged on the way. Get it again. "
    "(%(reason)s)"
)

_MAIN = frozenset({"trunk", "primary", "secondary", "tertiary"})
_PATHS = frozenset({"path", "footway", "steps", "corridor", "cycleway", "track", "bridleway"})


@dataclass(frozen=True, eq=False)
class Extract:
    """Streets, and what has a name or a house number."""

    network: Network
    names: tuple[Named, ...]


def read_extract(data: bytes) -> Extract:
    """Streets that anybody may use, with names and addresses. Raises `UnreadableExtract` for
    what is no extract, is damaged, has no streets or too many. O(size of the file)."""
    check_blocks(data)
    try:
        return _read(data)
    except UnreadableExtract:
        raise
    except (RuntimeError, ValueError, LookupError, ArithmeticError) as error:  # libosmium's own
        raise UnreadableExtract(Sentence(_DAMAGED, {"reason": str(error)[:120]})) from error


def _read(data: bytes) -> Extract:
    reader = (
        osmium.FileProcessor(osmium.io.FileBuffer(data, "pbf"))
        .with_locations()
        .with_filter(osmium.filter.KeyFilter("highway", "barrier", "name", "addr:housenumber"))
    )
    drawn = _Drawn()
    names: dict[Named, None] = {}
    for thing in reader:
        tags = dict(thing.tags)
        if isinstance(thing, Node) and thing.location.valid():
            points = [(thing.location.lat, thing.location.lon)]
            drawn.note_barrier(thing.id, tags)
        elif isinstance(thing, Way):
            where = {n.ref: (n.lat, n.lon) for n in thing.nodes if n.location.valid()}
            points = list(where.values())
            drawn.add_way([node.ref for node in thing.nodes], where, tags)
        else:
            continue
        named = name_of(tags, points)
        if named is not None and len(names) < MOST_NAMES:
            names[named] = None
    return Extract(drawn.network(), tuple(names))


class _Drawn:
    """Stretches as they are read, by the numbers of their nodes."""

    def __init__(self) -> None:
        self._stretches: list[tuple[int, int, int, int]] = []
        self._where: dict[int, tuple[float, float]] = {}
        self._shut: dict[int, int] = {}
        self._has_ways = False

    def note_barrier(self, node: int, tags: dict[str, str]) -> None:
        shut = sum(sum(use_bits(mode)) for mode in MODES if not may_pass(tags, mode))
        if shut:
            self._shut[node] = shut

    def add_way(
        self, nodes: list[int], where: dict[int, tuple[float, float]], tags: dict[str, str]
    ) -> None:
        """Nodes that the extract left out break the way."""
        use, width = _use(tags), _width(tags)
        if not use:
            return
        self._has_ways = True
        self._where.update(where)
        self._stretches += [
            (start, end, use, width)
            for start, end in pairwise(nodes)
            if start != end and start in where and end in where
        ]
        if len(self._stretches) > MOST_STRETCHES:
            raise UnreadableExtract(Sentence(_TOO_MANY, {"most": MOST_STRETCHES}))

    def network(self) -> Network:
        kept = [
            (start, end, left, width)
            for start, end, use, width in self._stretches
            if (left := use & ~self._shut.get(start, 0) & ~self._shut.get(end, 0))
        ]
        if not kept:
            is_lost = self._has_ways and not self._stretches
            raise UnreadableExtract(Sentence(_NO_POSITIONS if is_lost else _NO_STREETS))
        rows = np.array(kept, dtype=np.int64)
        refs, ends = np.unique(rows[:, :2], return_inverse=True)
        ends = ends.reshape(-1, 2)
        degrees = np.array([self._where[ref] for ref in refs.tolist()])
        length_m = distance_m(*degrees[ends[:, 0]].T, *degrees[ends[:, 1]].T)
        is_near = length_m <= LONGEST_M
        walked = (rows[:, 2] & sum(use_bits("foot"))) > 0
        if not length_m[is_near & walked].any():
            raise UnreadableExtract(Sentence(_NO_STREETS))
        if length_m[is_near].sum() > MOST_KM * 1000:
            raise UnreadableExtract(Sentence(_TOO_LONG, {"most": MOST_KM}))
        rows, ends = rows[is_near], ends[is_near]
        return Network(
            latitude=degrees[:, 0],
            longitude=degrees[:, 1],
            start=ends[:, 0].astype(np.int32),
            end=ends[:, 1].astype(np.int32),
            use=rows[:, 2].astype(np.uint8),
            width=rows[:, 3].astype(np.uint8),
        )


def _use(tags: dict[str, str]) -> int:
    bits = 0
    if "highway" in tags:
        for mode in MODES:
            along, against = use_bits(mode)
            there, back = may_use(tags, mode)
            bits |= along * there | against * back
    return bits


def _width(tags: dict[str, str]) -> int:
    kind = tags.get("highway", "").removesuffix("_link")
    return 2 if kind in _MAIN else 0 if kind in _PATHS else 1
