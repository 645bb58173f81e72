"""Which day it is for a group; the one place where pages read the clock for it."""

from __future__ import annotations

from datetime import UTC, date, datetime

from apps.groups.models import Group
from apps.kernel.days import local_date


def today_of(group: Group) -> date:
    """The group's local date now."""
    return local_date(datetime.now(UTC), group.time_zone)
