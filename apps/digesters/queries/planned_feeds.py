"""What a plan means to feed each digester. The plan lies above this app, so the settings name
who knows it; without one, the model takes a usual day for every day ahead."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from datetime import date

from django.conf import settings
from django.utils.module_loading import import_string

from apps.groups.models import Group

Planned = Mapping[str, Mapping[date, Mapping[str, int]]]
"""Grams by digester code, day and material code."""


def planned_feeds(group: Group, after: date, digesters: Collection[str]) -> Planned:
    """Days after `after` that the announced plan covers, of the digesters with these codes."""
    name: str = settings.PLANNED_FEEDS
    if not name:
        return {}
    known: Callable[[Group, date, Collection[str]], Planned] = import_string(name)
    return known(group, after, digesters)
