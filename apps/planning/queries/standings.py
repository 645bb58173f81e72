"""What comes every week, as a person sees it."""

from __future__ import annotations

from datetime import date

from django.db.models import Prefetch, Q, QuerySet

from apps.groups.models import Group
from apps.people.models import Member
from apps.planning.models import Standing, StandingDay


def standings_for(
    group: Group, who: Member, *, sees_all: bool, today: date | None = None
) -> QuerySet[Standing]:
    """Open ones, by source and day; those of the own source or home unless the person sees all.
    With `today`, each one's tried days from then on as `coming`. Two queries."""
    rows: QuerySet[Standing] = Standing.objects.of(group).filter(ended_at=None)
    if not sees_all:
        rows = rows.filter(Q(stream__source__contact=who) | Q(digester__household=who))
    if today is not None:
        days = StandingDay.objects.of(group).filter(on__gte=today).order_by("on")
        rows = rows.prefetch_related(Prefetch("day_rows", queryset=days, to_attr="coming"))
    return rows.select_related(
        "stream__material", "stream__source__contact", "digester__household", "asked_by"
    ).order_by("stream__source__name", "weekday", "pk")
