"""Who may use a way, and in which direction, by its OpenStreetMap tags.

Sources, all of the OpenStreetMap wiki: "OSM tags for routing/Access restrictions" (default
access by kind of way; revisions 2734618 and 701776), "Key:access" (the more particular key
wins), "Key:oneway:bicycle" and "Key:cycleway:right:oneway" (contraflow) were read; "Key:oneway",
"Key:barrier" and "Proposal:Deprecate cycleway=opposite family" are from memory. Countries differ
in whether people may walk on a cycleway; here they may, unless it says foot=no.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

Tags = Mapping[str, str]
Mode = Literal["foot", "bicycle", "cart"]
"""A cart is pushed or pulled by somebody walking: as on foot, but never over steps."""

MODES: tuple[Mode, ...] = get_args(Mode)

_SHARED = (
    "trunk trunk_link primary primary_link secondary secondary_link tertiary tertiary_link "
    "unclassified residential living_street service road track path cycleway"
)
OPEN_BY_DEFAULT: Mapping[Mode, frozenset[str]] = {
    "foot": frozenset(f"{_SHARED} pedestrian footway steps corridor".split()),
    "bicycle": frozenset(_SHARED.split()),
    "cart": frozenset(f"{_SHARED} pedestrian footway corridor".split()),
}
OPEN_WHEN_SAID: Mapping[Mode, frozenset[str]] = {
    "foot": frozenset({"bridleway", "motorway", "motorway_link"}),
    "bicycle": frozenset({"bridleway", "pedestrian", "footway"}),
    "cart": frozenset({"bridleway"}),
}
"""Kinds of way that are shut unless the mode's own key opens them."""

ACCESS_KEYS: Mapping[Mode, tuple[str, ...]] = {
    "foot": ("foot", "access"),
    "bicycle": ("bicycle", "vehicle", "access"),
    "cart": ("foot", "access"),
}
"""The first of these that is there decides."""

SHUT = frozenset(
    {"no", "private", "military", "agricultural", "forestry", "permit", "use_sidepath", "emergency"}
)
OPENED = frozenset({"yes", "designated", "permissive", "official", "destination", "customers"})

BLOCKS_FOOT = frozenset({"wall", "fence", "hedge", "city_wall", "retaining_wall", "ditch"})
BLOCKS_WHEELS = BLOCKS_FOOT | {
    "stile", "kissing_gate", "turnstile", "full-height_turnstile", "log", "block_step", "steps",
}  # fmt: skip
"""Barriers at a point that nobody, or nothing on wheels, passes unless it says so."""

_CONTRAFLOW = frozenset({"opposite", "opposite_lane", "opposite_track", "opposite_share_busway"})
_ONE_WAY = {"yes": 1, "true": 1, "1": 1, "-1": -1, "reverse": -1}


def may_use(tags: Tags, mode: Mode) -> tuple[bool, bool]:
    """Whether a way is open along its drawn direction, and against it."""
    if not _is_open(tags, mode):
        return False, False
    way = _one_way(tags, mode)
    return way >= 0, way <= 0


def may_pass(tags: Tags, mode: Mode) -> bool:
    """Whether somebody gets past a point of a way, such as a gate or a stile."""
    barrier = tags.get("barrier")
    if barrier is None:
        return True
    said = _said(tags, mode)
    if said is not None:
        return said not in SHUT
    return barrier not in (BLOCKS_FOOT if mode == "foot" else BLOCKS_WHEELS)


def _is_open(tags: Tags, mode: Mode) -> bool:
    kind = tags.get("highway", "")
    said = _said(tags, mode)
    if kind in OPEN_WHEN_SAID[mode]:
        return tags.get(ACCESS_KEYS[mode][0]) in OPENED
    if kind not in OPEN_BY_DEFAULT[mode]:
        return False
    if tags.get("motorroad") == "yes" and tags.get(ACCESS_KEYS[mode][0]) not in OPENED:
        return False
    if tags.get("construction") == "yes":
        return False
    return said not in SHUT


def _said(tags: Tags, mode: Mode) -> str | None:
    return next((tags[key] for key in ACCESS_KEYS[mode] if key in tags), None)


def _one_way(tags: Tags, mode: Mode) -> int:
    """1: only as drawn, -1: only against it, 0: both ways. One-way rules are for wheels in the
    traffic; walkers, also with a cart, mind them only where `oneway:foot` says so."""
    if mode != "bicycle":
        return _ONE_WAY.get(tags.get("oneway:foot", ""), 0)
    own = tags.get("oneway:bicycle", tags.get("bicycle:oneway"))  # The second is an old spelling.
    if own is not None:
        return _ONE_WAY.get(own, 0)
    round_about = tags.get("junction") in ("roundabout", "circular")
    way = _ONE_WAY.get(tags.get("oneway", "yes" if round_about else ""), 0)
    return 0 if way and _contraflow(tags, way) else way


def _contraflow(tags: Tags, way: int) -> bool:
    """A lane or track for bicycles against the one way, drawn as a part of the street."""
    sides = ("cycleway", "cycleway:left", "cycleway:right", "cycleway:both")
    if any(tags.get(side) in _CONTRAFLOW for side in sides):
        return True
    lanes = (tags.get(f"{side}:oneway") for side in sides if tags.get(side) in ("lane", "track"))
    return any(lane is not None and _ONE_WAY.get(lane, 0) != way for lane in lanes)
