"""What whoever carries out plans knows: pickups that have begun, pairs that are through for a
day, visits that came to nothing. Names in the settings and not imports, because carrying out a
plan lies above making one.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from django.conf import settings
from django.utils.module_loading import import_string

from apps.groups.models import Group
from apps.planning.core.problem import Placement

ClosedPair = tuple[str, str, date]
"""Source code, digester code and day."""


def started_pickups(group: Group, first: date, days: int) -> Sequence[Placement]:
    """Ask `settings.STARTED_PICKUPS`: `(group, first, days) -> placements` that are under way
    and that the ledger does not know yet."""
    if not settings.STARTED_PICKUPS:
        return ()
    placements: Sequence[Placement] = import_string(settings.STARTED_PICKUPS)(group, first, days)
    return placements


def closed_pairs(group: Group, first: date, days: int) -> Collection[ClosedPair]:
    """Ask `settings.CLOSED_PAIRS`: `(group, first, days) -> pairs` that shall not be asked
    (again) on that day, because the home declined or the pickup is over."""
    if not settings.CLOSED_PAIRS:
        return ()
    pairs: Collection[ClosedPair] = import_string(settings.CLOSED_PAIRS)(group, first, days)
    return pairs


def missed_visits(group: Group, before_on: date) -> Mapping[str, tuple[int, int]]:
    """Ask `settings.MISSED_VISITS`: `(group, before_on) -> by source code, visits planned in the
    weeks before the day, and those of them that came to nothing`."""
    if not settings.MISSED_VISITS:
        return {}
    visits: Mapping[str, tuple[int, int]] = import_string(settings.MISSED_VISITS)(group, before_on)
    return visits
