"""Opening hours of a day, and when somebody can collect here and deliver there."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from apps.kernel.figures import FigureError, whole
from apps.kernel.sentences import Sentence, gettext_noop

DAY_MIN = 24 * 60

LEAST_MIN = 5
"""Minutes a window must last to be worth naming. Assumed."""

_CLOCK = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)")

_SOURCE_CLOSED = gettext_noop("The source is closed that day.")
_HOME_CLOSED = gettext_noop("Nobody receives at the home that day.")
_NEVER_MEET = gettext_noop(
    "The hours never meet: the source is open %(source)s, the home receives %(home)s, and the "
    "way takes %(minutes)s minutes. Change one of the hours or name a neighbour who receives."
)


@dataclass(frozen=True, order=True)
class Window:
    """Open from ``opens_min`` to ``closes_min``, minutes after local midnight, same day."""

    opens_min: int
    closes_min: int

    def __post_init__(self) -> None:
        whole(self.opens_min, "The opening", "minutes after midnight", high=DAY_MIN)
        whole(self.closes_min, "The closing", "minutes after midnight", high=DAY_MIN)
        if self.closes_min <= self.opens_min:
            raise FigureError(
                f"The hours {clock(self.opens_min)}-{clock(self.closes_min)} close before they "
                "open. Hours across midnight are given as two: until 24:00 on the first day and "
                "from 00:00 on the next."
            )

    def __str__(self) -> str:
        return f"{clock(self.opens_min)}-{clock(self.closes_min)}"


@dataclass(frozen=True)
class PickupHours:
    """When somebody can leave the source with the waste; without windows ``reason`` says why."""

    windows: tuple[Window, ...]
    reason: Sentence | None = None


def clock(minutes: int) -> str:
    """Minutes after midnight as people write them: ``"06:30"``."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def parse_windows(text: str) -> tuple[Window, ...]:
    """Hours as written in lists: ``"06:00-10:00; 16:00-18:30"``; empty is closed."""
    windows: list[Window] = []
    for part in filter(None, (piece.strip() for piece in text.split(";"))):
        opens, dash, closes = part.partition("-")
        if not dash:
            raise FigureError(f"The hours {part!r} cannot be read; write them as 06:00-10:00.")
        windows.append(Window(_parse_clock(opens.strip()), _parse_clock(closes.strip())))
    return merge_windows(windows)


def merge_windows(windows: Iterable[Window]) -> tuple[Window, ...]:
    """The same hours in order, with those that touch or overlap joined."""
    merged: list[Window] = []
    for window in sorted(windows):
        if merged and window.opens_min <= merged[-1].closes_min:
            last = merged.pop()
            window = Window(last.opens_min, max(last.closes_min, window.closes_min))  # noqa: PLW2901
        merged.append(window)
    return tuple(merged)


def overlap_windows(ours: Sequence[Window], theirs: Sequence[Window]) -> tuple[Window, ...]:
    """Hours within both."""
    both: list[Window] = []
    for one in merge_windows(ours):
        for other in merge_windows(theirs):
            opens = max(one.opens_min, other.opens_min)
            closes = min(one.closes_min, other.closes_min)
            if opens < closes:
                both.append(Window(opens, closes))
    return tuple(both)


def pickup_window(
    source: Sequence[Window],
    home: Sequence[Window],
    travel_min: int,
    least_min: int = LEAST_MIN,
) -> PickupHours:
    """Times at which somebody collects within the source's hours and arrives, ``travel_min``
    later, within the home's; windows shorter than ``least_min`` are left out."""
    whole(travel_min, "The way", "minutes")
    whole(least_min, "The least window", "minutes", low=1)
    if not source:
        return PickupHours((), Sentence(_SOURCE_CLOSED))
    if not home:
        return PickupHours((), Sentence(_HOME_CLOSED))
    leaving = [
        Window(max(0, window.opens_min - travel_min), window.closes_min - travel_min)
        for window in home
        if window.closes_min > travel_min
    ]
    windows = tuple(
        window
        for window in overlap_windows(source, leaving)
        if window.closes_min - window.opens_min >= least_min
    )
    if windows:
        return PickupHours(windows)
    return PickupHours(
        (),
        Sentence(
            _NEVER_MEET,
            {"source": _say(source), "home": _say(home), "minutes": travel_min},
        ),
    )


def _say(windows: Sequence[Window]) -> str:
    return ", ".join(str(window) for window in merge_windows(windows))


def _parse_clock(text: str) -> int:
    match = _CLOCK.fullmatch(text)
    minutes = int(match.group(1)) * 60 + int(match.group(2)) if match else DAY_MIN + 1
    if minutes > DAY_MIN:
        raise FigureError(f"The time {text!r} cannot be read; write 00:00 to 24:00.")
    return minutes
