"""Planning that nobody asks for by hand: each evening, and on a surprise."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from apps.groups.models import Work
from apps.kernel.days import local_date
from apps.planning.models import Plan, PlanStatus
from apps.planning.operations.make_plan import make_plan

RE_PLAN_BUDGET = 6
"""Pickups that a re-plan on a surprise may change: about one a day. A ruling of ours."""


def make_nightly_plan(work: Work, now: datetime | None = None) -> None:
    """Make tomorrow's draft; done twice in an evening, it makes no second one of the same."""
    now = now or datetime.now(UTC)
    tomorrow = local_date(now, work.group.time_zone) + timedelta(days=1)
    if not _has_draft(work, tomorrow):
        make_plan(work.group, now=now, starts_on=tomorrow)


def make_plan_again(work: Work, now: datetime | None = None) -> None:
    """After a surprise: a draft of the announced plan's remaining days with few changes."""
    now = now or datetime.now(UTC)
    announced = Plan.objects.of(work.group).filter(status=PlanStatus.ANNOUNCED).first()
    if announced is None:
        return
    tomorrow = local_date(now, work.group.time_zone) + timedelta(days=1)
    last = announced.starts_on + timedelta(days=announced.days - 1)
    first = max(tomorrow, announced.starts_on)
    if first <= last:
        make_plan(
            work.group,
            now=now,
            starts_on=first,
            days=(last - first).days + 1,
            change_budget=RE_PLAN_BUDGET,
        )


def _has_draft(work: Work, starts_on: date) -> bool:
    since = work.due_at
    drafts = Plan.objects.of(work.group).filter(status=PlanStatus.DRAFT, made_at__gte=since)
    return drafts.filter(starts_on=starts_on).exists()
