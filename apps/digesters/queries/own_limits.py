"""The limits a digester may have its own value for: what counts, how far it may go, who asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from apps.digesters.core.limit_names import CAP_UNITS, LIMIT_NAMES
from apps.digesters.models import Digester, LimitChange
from apps.digesters.queries.day_facts import counting_changes, own_rules
from apps.digesters.queries.records import published_rules, read_records


@dataclass(frozen=True)
class OwnLimit:
    """One limit as it counts for one digester. `name` and `unit` are for translation."""

    limit_id: str
    name: str
    unit: str
    value: float | None
    """None: a daily cap of its own that nobody has set."""
    loosest: float | None
    """Nobody may go beyond; None for a daily cap, which lies on top of every other limit."""
    change: LimitChange | None
    """Who gave the digester its own value, and why."""


@dataclass(frozen=True)
class OwnLimits:
    """Every limit in the order of the table, and the loosenings that wait for a second person."""

    limits: tuple[OwnLimit, ...]
    waiting: tuple[LimitChange, ...]


def own_limits(digester: Digester, on: date) -> OwnLimits:
    """The limits of `digester` as they count on `on`."""
    of = read_records(digester.group, on)
    records = of.digesters[digester.code]
    last = {change.limit_id: change for change in counting_changes(records)}
    rules = own_rules(records, of.rules)
    caps = tuple(
        OwnLimit(
            cap,
            LIMIT_NAMES[cap],
            unit,
            float(last[cap].value) if cap in last else None,
            None,
            last.get(cap),
        )
        for cap, unit in CAP_UNITS.items()
    )
    ruled = tuple(
        OwnLimit(
            rule.id,
            LIMIT_NAMES[rule.id],
            rule.unit,
            rules.value(rule.id),
            rule.loosest,
            last.get(rule.id),
        )
        for rule in published_rules().rules.values()
    )
    waiting = tuple(
        change
        for change in records.limit_changes
        if change.loosens and change.confirmed_at is None and change.ended_at is None
    )
    return OwnLimits(caps + ruled, waiting)
