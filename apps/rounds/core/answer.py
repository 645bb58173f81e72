"""What a search answers: who goes where and when, and why something was left out."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from apps.rounds.core.problem import Rounds
from apps.rounds.core.schedule import Timing


class Why(StrEnum):
    """What keeps an errand out of the tour it would fit best."""

    LATE = "late"
    """At one visit (`late_at`) somebody would be `by` seconds late."""
    SHIFT = "shift"
    """The carrier would be back `by` seconds after the shift's end."""
    LOAD = "load"
    """The cart would be `by` grams over its limit."""
    BREAK = "break"
    """The break would begin `by` seconds too late."""
    AVOID = "avoid"
    """The carrier may not visit one of its ends."""
    BOUND = "bound"
    """It is bound to another carrier."""
    NOT_WORTH = "not_worth"
    """It fits, but costs `by` units more than it is worth."""
    CROWDED = "crowded"
    """It fits and is worth it by itself; the search found something better without it."""


@dataclass(frozen=True, slots=True)
class Left:
    """An errand left out, and the least that would have to give way.

    Put into the tour of `carrier` so that its fetching has index `fetch_at` and its bringing
    `bring_at` (both in the longer tour; equal where nothing is brought), with the breaks before
    `breaks_before`, the tour breaks the rule `why` by `by`; nowhere in any tour would it break
    less. `late_at` is the index of the visit that would be late. Anybody can repeat it:
    `verifier.reasons` does.
    """

    errand: str
    carrier: str
    why: Why
    by: int = 0
    fetch_at: int = 0
    bring_at: int = 0
    breaks_before: tuple[int, ...] = ()
    late_at: int | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """Tours with their times, in order of the carriers' codes, and what was left out."""

    rounds: Rounds
    tours: tuple[Timing, ...]
    left: tuple[Left, ...]

    @property
    def is_complete(self) -> bool:
        """Whether everything that must be done is done, and no limit is broken."""
        must = {each.code for each in self.rounds.errands if each.value is None}
        return not must & {each.errand for each in self.left} and not any(
            tour.breaches for tour in self.tours
        )

    @property
    def cost(self) -> int:
        """Of all tours, at each carrier's rates."""
        return sum(tour.cost(self.rounds.carrier[tour.carrier]) for tour in self.tours)
