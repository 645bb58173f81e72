"""Days that are unlike others: holidays, market closing days and festivals."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from apps.kernel.figures import FigureError, whole

MOST_PERCENT = 1_000
AS_USUAL = 100


@dataclass(frozen=True, slots=True)
class DayEffect:
    """What a stretch of days does to the waste of some kinds of source.

    ``amount_percent``: of a usual day; 0: they are shut. ``source_kinds`` empty: all kinds.
    A yearly one comes back on the same month and day; 29 February is kept on 28 February in
    years that have none (a ruling of ours, so that no year goes without it).
    """

    first_on: date
    last_on: date
    amount_percent: int = 0
    source_kinds: frozenset[str] = frozenset()
    is_yearly: bool = False

    def __post_init__(self) -> None:
        whole(self.amount_percent, "The part of a usual day", "percent", high=MOST_PERCENT)
        if not 0 <= (self.last_on - self.first_on).days <= 365:
            raise FigureError("Give a last day that is not before the first, within a year of it.")

    def falls_on(self, on: date) -> bool:
        """Whether ``on`` is one of its days."""
        if not self.is_yearly:
            return self.first_on <= on <= self.last_on
        length = (self.last_on - self.first_on).days
        return any(
            first <= on <= first + timedelta(days=length)
            for first in (_in_year(self.first_on, on.year - 1), _in_year(self.first_on, on.year))
        )

    def touches(self, source_kind: str) -> bool:
        """Whether it is about this kind of source."""
        return not self.source_kinds or source_kind in self.source_kinds


def percent_on(effects: Sequence[DayEffect], source_kind: str, on: date) -> int:
    """Percent of a usual day: where one of several shuts, 0; otherwise the largest."""
    found = [
        each.amount_percent for each in effects if each.touches(source_kind) and each.falls_on(on)
    ]
    return 0 if 0 in found else max(found, default=AS_USUAL)


def unusual_days(
    effects: Sequence[DayEffect], source_kind: str, days: Collection[date]
) -> dict[date, int]:
    """The days among ``days`` on which ``percent_on`` is not 100."""
    mine = [each for each in effects if each.touches(source_kind)]
    percents = {on: percent_on(mine, source_kind, on) for on in days} if mine else {}
    return {on: percent for on, percent in percents.items() if percent != AS_USUAL}


def _in_year(on: date, year: int) -> date:
    try:
        return on.replace(year=year)
    except ValueError:
        return date(year, 2, 28)
