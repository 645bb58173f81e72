"""Put down the work that every group's day asks for, once a local date."""

from __future__ import annotations

from datetime import UTC, datetime, time

from django.conf import settings

from apps.groups.models import Group
from apps.groups.operations.ask_for_work import ask_for_work
from apps.kernel.days import local_date, local_instant


def plan_daily_work(now: datetime | None = None) -> None:
    """Ask for each kind in `settings.DAILY_WORK` (kind: local "HH:MM") for each group's own
    date. Asking again is free: (kind, key) is unique, and the key is the local date, so a clock
    change makes no day happen twice or not at all."""
    now = now or datetime.now(UTC)
    for group in Group.objects.order_by("code"):
        today = local_date(now, group.time_zone)
        for kind, at in settings.DAILY_WORK.items():
            due_at = local_instant(today, time.fromisoformat(at), group.time_zone)
            ask_for_work(group, kind, key=today.isoformat(), due_at=due_at)
