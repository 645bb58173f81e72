"""A round beside what would happen without it: everybody fetches their own, on foot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from apps.kernel.figures import whole


@dataclass(frozen=True, slots=True)
class Effort:
    """What moving the waste costs people."""

    people: int
    seconds: int
    metres: int
    gram_metres: int
    """Load times way; on a cart it is pushed, on foot it hangs from the arms."""


@dataclass(frozen=True, slots=True)
class OwnTrip:
    """From a home to a source and back with `amount_g`."""

    home: str
    way_m: int
    way_s: int
    amount_g: int
    service_s: int = 0


def everybody_fetches(trips: Iterable[OwnTrip]) -> Effort:
    """The sum of the trips; each home counts once as a person."""
    homes: set[str] = set()
    seconds = metres = gram_metres = 0
    for trip in trips:
        whole(trip.amount_g, "The amount", "grams")
        homes.add(trip.home)
        seconds += 2 * trip.way_s + trip.service_s
        metres += 2 * trip.way_m
        gram_metres += trip.way_m * trip.amount_g
    return Effort(len(homes), seconds, metres, gram_metres)
