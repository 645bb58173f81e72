"""What the evening's message says of one digester's or source's next day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.pickups.queries.stands_by import stands_by
from apps.planning.models import DailyFeed, LeftOver, SecondHome
from apps.planning.queries.in_force import plans_in_force
from apps.supply.models import Source

GOING_ON = (State.ANNOUNCED, State.ACCEPTED, State.COLLECTED)


@dataclass(frozen=True, slots=True)
class DigesterDay:
    """Pickups to make and what to feed; `feed` is None when no plan covers the day; `perhaps`:
    what it may be asked for when another home does not go."""

    digester: Digester
    pickups: Sequence[Pickup]
    feed: DailyFeed | None
    perhaps: Sequence[SecondHome] = ()


@dataclass(frozen=True, slots=True)
class SourceDay:
    """Who comes, and where the rest goes."""

    source: Source
    pickups: Sequence[Pickup]
    left_overs: Sequence[LeftOver]


def digester_day(digester: Digester, on: date) -> DigesterDay:
    """Seven queries, whatever the number of pickups."""
    return DigesterDay(
        digester,
        list(_pickups(on).filter(group=digester.group_id, digester=digester)),
        DailyFeed.unscoped.filter(
            group=digester.group_id, digester=digester, on=on, plan=_plan_of(digester.group, on)
        ).first(),
        stands_by(digester, on),
    )


def source_day(source: Source, on: date) -> SourceDay:
    """Four queries, whatever the number of pickups."""
    return SourceDay(
        source,
        list(_pickups(on).filter(group=source.group_id, source=source)),
        list(
            LeftOver.unscoped.filter(
                group=source.group_id,
                stream__source=source,
                batch_on=on,
                plan=_plan_of(source.group, on),
            ).select_related("stream__material", "destination")
        ),
    )


def _plan_of(group: Group, on: date) -> int | None:
    """The plan that counts that day, also when a later one was announced for the days after."""
    return plans_in_force(group, on, on).get(on)


def _pickups(on: date):  # type: ignore[no-untyped-def]
    return (
        Pickup.unscoped.filter(on=on, state__in=GOING_ON)
        .select_related("source__place", "digester__household", "fetcher")
        .prefetch_related("lines__stream__material")
    )
