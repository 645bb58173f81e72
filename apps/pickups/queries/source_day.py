"""A source's own day and month: what it has, who comes and when, what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Sum

from apps.digesters.models import Digester
from apps.ledger.models import AccountKind, Movement
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.supply.models import Source
from apps.supply.queries.expected_supply import Expected, expected_supply

TO_BE_SEEN = (State.ANNOUNCED, State.ACCEPTED, State.COLLECTED, State.DELIVERED, State.FAILED)


@dataclass(frozen=True, slots=True)
class SourceDay:
    """`expected` by stream: offer or forecast. Pickups in the order in which somebody comes."""

    source: Source
    on: date
    expected: Sequence[Expected]
    pickups: Sequence[Pickup]

    @property
    def expected_g(self) -> int:
        """Grams of all streams."""
        return sum(each.forecast.p50_g for each in self.expected)

    @property
    def promised_g(self) -> int:
        """Grams that somebody comes for."""
        return sum(line.planned_g for pickup in self.pickups for line in pickup.lines.all())


@dataclass(frozen=True, slots=True)
class SourceMonth:
    """Grams given in the days up to `on`, by home, and what was set aside."""

    source: Source
    first_on: date
    on: date
    visits: int
    collected_g: int
    by_home_g: tuple[tuple[str, int], ...]
    """Home's name and grams that went into its bin, most first."""
    set_aside_g: int


def source_day(source: Source, on: date) -> SourceDay:
    """A constant number of queries."""
    return SourceDay(
        source=source,
        on=on,
        expected=[
            each
            for each in expected_supply(source.group, on, 1)
            if each.stream.source_id == source.pk
        ],
        pickups=list(
            Pickup.objects.of(source.group)
            .filter(source=source, on=on, state__in=TO_BE_SEEN)
            .select_related("digester__household", "fetcher", "source")
            .prefetch_related("lines__stream__material")
        ),
    )


def source_month(source: Source, on: date, *, days: int = 30) -> SourceMonth:
    """Three queries."""
    first_on = on - timedelta(days=days - 1)
    rows = (
        Movement.objects.of(source.group)
        .filter(
            from_account=source.account_id,
            posting__on__range=(first_on, on),
            posting__reverses=None,
            posting__reversed_by=None,
        )
        .values_list("to_account_id", "to_account__kind")
        .annotate(amount_g=Sum("amount_g"))
        .order_by()
    )
    names = dict(Digester.objects.of(source.group).values_list("bin_account_id", "name"))
    by_home: dict[str, int] = {}
    set_aside_g = 0
    for account_id, kind, amount_g in rows:
        if kind == AccountKind.BIN and account_id in names:
            by_home[names[account_id]] = by_home.get(names[account_id], 0) + amount_g
        else:
            set_aside_g += amount_g
    visits = Pickup.objects.of(source.group).filter(
        source=source, on__range=(first_on, on), state=State.DELIVERED
    )
    return SourceMonth(
        source=source,
        first_on=first_on,
        on=on,
        visits=visits.count(),
        collected_g=sum(by_home.values()) + set_aside_g,
        by_home_g=tuple(sorted(by_home.items(), key=lambda each: (-each[1], each[0]))),
        set_aside_g=set_aside_g,
    )
