"""How each digester was loaded, day by day, in windows of one, three and seven days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.core.loading import FedDay, Loading, find_loadings
from apps.digesters.queries.records import GroupRecords
from apps.kernel.days import days_from

PAST_DAYS = 14


@dataclass(frozen=True)
class LoadingDay:
    """What went in on one day, and the loading of the windows that end with it."""

    on: date
    fed: FedDay
    loadings: tuple[Loading, ...]


def loading_history(
    of: GroupRecords, on: date, *, days: int = PAST_DAYS
) -> dict[str, tuple[LoadingDay, ...]]:
    """By digester code, the `days` days before `on`, oldest first, from records read before: no
    query. A day without a record counts as not fed."""
    first = on - timedelta(days=days)
    return {
        code: tuple(
            LoadingDay(
                on=day,
                fed=fed.get(day, FedDay(day, 0, 0, 0)),
                loadings=find_loadings(records.fed.days, day, records.digester.working_volume_ml),
            )
            for day in days_from(first, days)
        )
        for code, records in of.digesters.items()
        for fed in ({each.on: each for each in records.fed.days},)
    }
