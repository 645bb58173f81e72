"""Addresses and names of a group's own extract, looked up without any network.

A geocoder like geopy's others, so that code which knows one of those knows this one.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Any

from geopy.adapters import BaseSyncAdapter
from geopy.exc import GeocoderServiceError
from geopy.geocoders.base import DEFAULT_SENTINEL, Geocoder
from geopy.location import Location
from rapidfuzz import fuzz, process

from apps.places.core.distance import Point
from apps.places.core.streets.named import Named
from apps.places.core.streets.streets import straight_m

LEAST_SCORE = 72.0
"""Of 100, rapidfuzz's weighted ratio; below it names are strangers. Assumed, from trying typing
slips on the names of a real town."""

NEAREST_M = 60.0
"""How far from a point `reverse` looks for a door. Assumed: across a street and a front yard."""

OTHER_SIDE = 10
"""House numbers by which a door across the street counts as farther. Assumed."""

_NUMBER = re.compile(r"(?:^|[\s,])(\d{1,5}(?:[-/]\d{1,5})?\s?[a-z]?)(?=$|[\s,])")


class NoNetwork(BaseSyncAdapter):  # type: ignore[misc]
    """Everything is at hand; whoever asks for an address on the network gets an error."""

    def get_json(self, url: str, *, timeout: object, headers: object) -> Any:
        raise GeocoderServiceError("This geocoder uses no network.")

    def get_text(self, url: str, *, timeout: object, headers: object) -> str:
        raise GeocoderServiceError("This geocoder uses no network.")


class Gazetteer(Geocoder):  # type: ignore[misc]
    """`raw` of a found location has `score` (0-100) and `exact`: whether the very house number,
    or a name without one, was found; otherwise the nearest number on that street stands for it.
    """

    def __init__(self, names: Iterable[Named]) -> None:
        super().__init__(user_agent="offline", adapter_factory=NoNetwork)
        self._names = tuple(names)

    def geocode(
        self,
        query: str,
        *,
        exactly_one: bool = True,
        timeout: object = DEFAULT_SENTINEL,
        limit: int = 5,
    ) -> Location | list[Location] | None:
        """The best match, or up to `limit` of them, best first; None when nothing is like it.
        O(n) in the different names."""
        number, words = _split(_plain(query))
        matches = process.extract(
            words, self._by_name.keys(), scorer=fuzz.WRatio, score_cutoff=LEAST_SCORE, limit=limit
        )
        matches.sort(key=lambda match: (-match[1], abs(len(match[0]) - len(words)), match[0]))
        found = [self._locate(name, number, score) for name, score, _ in matches]
        found.sort(key=lambda each: (-each.raw["score"], not each.raw["exact"]))
        if exactly_one:
            return found[0] if found else None
        return found or None

    def reverse(
        self, query: Any, *, exactly_one: bool = True, timeout: object = DEFAULT_SENTINEL
    ) -> Location | list[Location] | None:
        """The nearest door within `NEAREST_M` of (latitude, longitude), or None."""
        latitude, longitude = query
        doors = [each for each in self._names if each.number]
        if not doors:
            return None
        away = straight_m(
            [Point(float(latitude), float(longitude))],
            [Point(each.latitude, each.longitude) for each in doors],
        )[0]
        nearest = int(away.argmin())
        if away[nearest] > NEAREST_M:
            return None
        found = _location(doors[nearest], score=100.0, exact=True)
        return found if exactly_one else [found]

    @cached_property
    def _by_name(self) -> dict[str, list[Named]]:
        """Things by their plain name; doors by their street's."""
        index: dict[str, list[Named]] = defaultdict(list)
        for each in self._names:
            for name in {_plain(each.name), _plain(each.street) if each.number else ""} - {""}:
                index[name].append(each)
        return index

    def _locate(self, name: str, number: str, score: float) -> Location:
        things = self._by_name[name]
        doors = [each for each in things if each.number and _plain(each.street) == name]
        if number and doors:
            nearest = min(doors, key=lambda door: (_apart(door.number, number), door.number))
            exact = _tight(nearest.number) == _tight(number)
            return _location(nearest, score=score, exact=exact)
        others = [each for each in things if _plain(each.name) == name] or things
        return _location(others[len(others) // 2], score=score, exact=not number)


def _location(thing: Named, *, score: float, exact: bool) -> Location:
    door = f"{thing.street} {thing.number}".strip() if thing.number else ""
    address = ", ".join(part for part in (thing.name, door) if part)
    raw = {"score": round(score, 1), "exact": exact}
    return Location(address, (thing.latitude, thing.longitude, 0.0), raw)


def _plain(text: str) -> str:
    """Small letters without accents or punctuation."""
    letters = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(each for each in letters if not unicodedata.combining(each))
    kept = re.sub(r"(?<=\d)\s*[-–/]\s*(?=\d)", "-", kept)
    return " ".join(re.sub(r"(?<!\d)-|-(?!\d)|[^\w\s,-]", " ", kept).split())


def _split(query: str) -> tuple[str, str]:
    """House number and the rest."""
    numbers = list(_NUMBER.finditer(query))
    if not numbers:
        return "", query
    last = numbers[-1]
    rest = (query[: last.start(1)] + query[last.end(1) :]).strip(" ,")
    return (last.group(1), rest) if rest else ("", query)


def _tight(number: str) -> str:
    return _plain(number).replace(" ", "")


def _apart(one: str, other: str) -> tuple[int, int]:
    """Whether they are different, then how far; the other side of the street is farther."""
    ours, theirs = (_digits(number) for number in (one, other))
    return int(_tight(one) != _tight(other)), abs(ours - theirs) + OTHER_SIDE * (
        (ours - theirs) % 2
    )


def _digits(number: str) -> int:
    match = re.match(r"\d+", number)
    return int(match.group()) if match else 0


def middle(points: Sequence[Point]) -> Point | None:
    """The middle of some points, the reference of short codes; None without any."""
    if not points:
        return None
    return Point(
        sum(each.latitude for each in points) / len(points),
        sum(each.longitude for each in points) / len(points),
    )
