"""Pickups that have begun, as whoever runs them knows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.conf import settings
from django.utils.module_loading import import_string

from apps.groups.models import Group
from apps.planning.core.problem import Placement


def started_pickups(group: Group, first: date, days: int) -> Sequence[Placement]:
    """Ask `settings.STARTED_PICKUPS`, a dotted name: `(group, first, days) -> placements`.

    A name and not an import, because carrying out a plan lies above making one.
    """
    if not settings.STARTED_PICKUPS:
        return ()
    placements: Sequence[Placement] = import_string(settings.STARTED_PICKUPS)(group, first, days)
    return placements
