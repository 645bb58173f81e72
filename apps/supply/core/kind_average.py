"""What a new stream borrows from others of its kind until it has weights of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median


@dataclass(frozen=True, slots=True)
class Known:
    """A stream with a past: what it declared and what it had, mean grams a weekday."""

    declared_g: Sequence[float]
    had_g: Sequence[float]
    spread_share: float


@dataclass(frozen=True, slots=True)
class KindAverage:
    """``of_declared``: what streams of this kind had over what they declared; ``by_weekday_g``:
    their mean week, Monday first, for one that declared nothing; ``spread_share``: the median
    spread about it."""

    of_declared: float
    by_weekday_g: tuple[float, ...]
    spread_share: float
    streams: int


def average_kind(known: Sequence[Known]) -> KindAverage | None:
    """The average of streams of one kind; None from fewer than three, which tell nothing."""
    if len(known) < 3:
        return None
    ratios = [sum(each.had_g) / sum(each.declared_g) for each in known if sum(each.declared_g) > 0]
    return KindAverage(
        of_declared=median(ratios) if ratios else 1.0,
        by_weekday_g=tuple(fmean(each.had_g[day] for each in known) for day in range(7)),
        spread_share=median(each.spread_share for each in known),
        streams=len(known),
    )
