"""How sources kept their word, known to whoever fetches. A name in the settings and not an
import, because fetching lies above what is to be fetched."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.conf import settings
from django.utils.module_loading import import_string

from apps.groups.models import Group

Kept = Mapping[tuple[int, date], tuple[int, int]]
"""Grams planned and grams found, by stream's id and the day of its batch."""


def kept_offers(group: Group, since_on: date, before_on: date) -> Kept:
    """Ask `settings.KEPT_OFFERS`: `(group, since_on, before_on) -> Kept`."""
    if not settings.KEPT_OFFERS:
        return {}
    kept: Kept = import_string(settings.KEPT_OFFERS)(group, since_on, before_on)
    return kept
