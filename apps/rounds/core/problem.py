"""The rounds problem: what is to be carried from whom to whom, and who can carry it.

Pure data. Times are whole seconds after local midnight of the round's day, ways whole metres,
amounts whole grams; places are indices into the matrices. Every value is checked when it is
made, so that whoever holds one need not ask again.

What a round may never do (hard limits):

1.  An errand is done whole by one carrier: fetched, then brought; or not at all.
2.  At each end the work begins within the end's window; waiting is allowed.
3.  What is on the cart never exceeds the carrier's limit, at any point of the tour.
4.  A carrier sets out from `start` and is back at `end` within the shift.
5.  A carrier never goes to a place it avoids, and an errand bound to a carrier goes with it.
6.  A break begins within its window and lasts its whole length; nothing else happens meanwhile.
7.  What is on a cart already (an errand without a fetching end) is brought by that carrier;
    what has no bringing end stays on the cart until the carrier's own end.

Wishes, as one cost: metres, seconds and going out at the carrier's rates, less the value of what
is done. An errand without a value must be done; when that cannot be, the answer says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from apps.kernel.figures import whole

TWO_DAYS_S = 2 * 24 * 3600
MOST_G = 1_000_000
MOST_STOPS = 1_000
LARGEST = 1 << 40
"""Largest way or time: sums of a thousand still fit the engine's whole numbers."""


class RoundError(ValueError):
    """The problem contradicts itself; the message says where and what to do."""


class Side(StrEnum):
    """Which end of an errand."""

    FETCH = "fetch"
    BRING = "bring"


@dataclass(frozen=True, slots=True)
class Window:
    """From `from_s` to `till_s`, both included."""

    from_s: int
    till_s: int

    def __post_init__(self) -> None:
        whole(self.from_s, "The beginning", "seconds", high=LARGEST)
        whole(self.till_s, "The end", "seconds", high=LARGEST)
        if self.till_s < self.from_s:
            raise RoundError(
                f"A window ends at {self.till_s} s, before it begins at {self.from_s} s. "
                "Give the earlier time first."
            )


@dataclass(frozen=True, slots=True)
class End:
    """One end of an errand: `window` is when the work of `service_s` may begin there."""

    place: int
    window: Window
    service_s: int = 0

    def __post_init__(self) -> None:
        whole(self.place, "The place", "index")
        whole(self.service_s, "The time at the stop", "seconds", high=LARGEST)


@dataclass(frozen=True, slots=True)
class Errand:
    """`amount_g` of one material from one source to one home. `fetch` None: it is on the cart of
    `carrier` already. `bring` None: it stays on the cart to the end of the tour. `value` None:
    it must be done. `carrier`: nobody else may do it."""

    code: str
    amount_g: int
    fetch: End | None
    bring: End | None
    material: str = ""
    value: int | None = None
    carrier: str | None = None

    def __post_init__(self) -> None:
        if not self.code:
            raise RoundError("An errand has no code; give each its own.")
        whole(self.amount_g, f"The load of {self.code}", "grams", low=1, high=MOST_G)
        if self.value is not None:
            whole(self.value, f"The value of {self.code}", "cost units", high=LARGEST)
        if self.fetch is None and self.bring is None:
            raise RoundError(f"{self.code} is neither fetched nor brought. Give it an end.")
        if self.fetch is None and self.carrier is None:
            raise RoundError(f"{self.code} is on a cart, but nobody says whose. Name the carrier.")

    def end(self, side: Side) -> End:
        """The end of that side."""
        found = self.fetch if side is Side.FETCH else self.bring
        if found is None:
            raise RoundError(f"{self.code} has no such end: it is on the cart.")
        return found

    @property
    def ends(self) -> tuple[End, ...]:
        """Those it has."""
        return tuple(end for end in (self.fetch, self.bring) if end is not None)


@dataclass(frozen=True, slots=True)
class Break:
    """A rest of `length_s` that begins within `window`."""

    window: Window
    length_s: int

    def __post_init__(self) -> None:
        whole(self.length_s, "The break", "seconds", low=1, high=LARGEST)


@dataclass(frozen=True, slots=True)
class Carrier:
    """Somebody with a cart. `ways` is the index of the matrices for how they move; costs are per
    metre, per second out and for going out at all."""

    code: str
    start: int
    end: int
    shift: Window
    load_limit_g: int
    ways: int = 0
    avoids: frozenset[int] = frozenset()
    breaks: tuple[Break, ...] = ()
    metre_cost: int = 0
    second_cost: int = 1
    going_out_cost: int = 0

    def __post_init__(self) -> None:
        if not self.code:
            raise RoundError("A carrier has no code; give each their own.")
        whole(self.load_limit_g, f"The load limit of {self.code}", "grams", high=MOST_G)
        if self.load_limit_g == 0:
            raise RoundError(
                f"{self.code} can carry 0 kg. Give the cart a load limit, or choose somebody else."
            )
        for name in ("metre_cost", "second_cost", "going_out_cost"):
            whole(getattr(self, name), f"The {name} of {self.code}", "cost units", high=LARGEST)
        if {self.start, self.end} & self.avoids:
            raise RoundError(f"{self.code} starts or ends at a place they may not visit.")
        ordered = sorted(self.breaks, key=lambda each: each.window.from_s)
        if list(self.breaks) != ordered:
            raise RoundError(f"The breaks of {self.code} are not in order of time.")


@dataclass(frozen=True, slots=True)
class Ways:
    """Metres and seconds from each place to each, for one way of moving."""

    metres: tuple[tuple[int, ...], ...]
    seconds: tuple[tuple[int, ...], ...]

    def __post_init__(self) -> None:
        size = len(self.metres)
        for name, matrix in (("metres", self.metres), ("seconds", self.seconds)):
            if len(matrix) != size or any(len(row) != size for row in matrix):
                raise RoundError(f"The matrix of {name} is not {size} × {size}.")
            if any(not 0 <= value <= LARGEST for row in matrix for value in row):
                raise RoundError(f"The matrix of {name} has a value below 0 or far too large.")
            if any(matrix[place][place] for place in range(size)):
                raise RoundError(f"The matrix of {name} has a way from a place to itself.")

    @classmethod
    def of(cls, metres: Iterable[Sequence[int]], seconds: Iterable[Sequence[int]]) -> Ways:
        """From any rows of whole numbers."""
        return cls(
            tuple(tuple(int(value) for value in row) for row in metres),
            tuple(tuple(int(value) for value in row) for row in seconds),
        )


@dataclass(frozen=True)
class Rounds:
    """The whole problem. Errands and carriers are kept in order of their codes."""

    errands: tuple[Errand, ...]
    carriers: tuple[Carrier, ...]
    ways: tuple[Ways, ...]

    def __post_init__(self) -> None:
        for name in ("errands", "carriers"):
            rows = tuple(sorted(getattr(self, name), key=lambda each: each.code))
            codes = [each.code for each in rows]
            if len(set(codes)) != len(codes):
                twice = next(code for code in codes if codes.count(code) > 1)
                raise RoundError(f"{twice} is listed twice among the {name}.")
            object.__setattr__(self, name, rows)
        if not self.carriers:
            raise RoundError("Nobody carries. Name at least one carrier.")
        if not self.ways or len({len(each.metres) for each in self.ways}) != 1:
            raise RoundError("The matrices must be there, all of the same size.")
        whole(len(self.errands), "The number of errands", "errands", high=MOST_STOPS)
        self._check_places()

    def _check_places(self) -> None:
        size = len(self.ways[0].metres)
        known = {each.code for each in self.carriers}
        for carrier in self.carriers:
            if not 0 <= carrier.ways < len(self.ways):
                raise RoundError(f"{carrier.code} moves by matrix {carrier.ways}: there is none.")
            if max(carrier.start, carrier.end) >= size or min(carrier.start, carrier.end) < 0:
                raise RoundError(f"{carrier.code} starts or ends at a place that is not listed.")
        for errand in self.errands:
            if any(end.place >= size for end in errand.ends):
                raise RoundError(f"{errand.code} has an end at a place that is not listed.")
            if errand.carrier is not None and errand.carrier not in known:
                raise RoundError(
                    f"{errand.code} is bound to {errand.carrier}, who does not carry. "
                    "Free it or add the carrier."
                )

    @cached_property
    def errand(self) -> dict[str, Errand]:
        """By code."""
        return {each.code: each for each in self.errands}

    @cached_property
    def carrier(self) -> dict[str, Carrier]:
        """By code."""
        return {each.code: each for each in self.carriers}


@dataclass(frozen=True, slots=True)
class Visit:
    """Fetching or bringing one errand."""

    errand: str
    side: Side


@dataclass(frozen=True, slots=True)
class Tour:
    """Who goes where in which order; times are `schedule.timing`'s."""

    carrier: str
    visits: tuple[Visit, ...]

    def codes(self) -> list[str]:
        """Codes of the errands it does, in the order of their first visit."""
        return list(dict.fromkeys(visit.errand for visit in self.visits))
