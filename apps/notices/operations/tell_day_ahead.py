"""The evening before: tell every household and every source what tomorrow brings.

Sources are told too when nobody comes, so that they can decide before closing.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from apps.digesters.models import Digester
from apps.groups.models import Group, Work
from apps.notices.operations.give_notice import give_notice
from apps.planning.models import Plan, PlanStatus
from apps.supply.models import Source


def tell_day_ahead(work: Work) -> None:
    """Consumer of the daily work `tell_day_ahead`; its key is the local date of the evening."""
    tell_of_day(work.group, date.fromisoformat(work.key) + timedelta(days=1), datetime.now(UTC))


def tell_of_day(group: Group, on: date, now: datetime) -> None:
    """Give one notice for each digester and source with somebody to tell; nothing when no
    announced plan covers the day."""
    plan = Plan.objects.of(group).filter(status=PlanStatus.ANNOUNCED).first()
    if plan is None or not plan.starts_on <= on < plan.starts_on + timedelta(days=plan.days):
        return
    digesters = Digester.objects.of(group).filter(household__left_at=None)
    for digester in digesters.exclude(household=None).select_related("household__group"):
        give_notice(
            digester.household,
            "digester_day",
            f"digester-{digester.uuid}-{on}",
            now=now,
            payload={"digester": str(digester.uuid), "on": on.isoformat()},
        )
    sources = Source.objects.of(group).filter(is_active=True, contact__left_at=None)
    for source in sources.exclude(contact=None).select_related("contact__group"):
        give_notice(
            source.contact,
            "source_day",
            f"source-{source.uuid}-{on}",
            now=now,
            payload={"source": str(source.uuid), "on": on.isoformat()},
        )
