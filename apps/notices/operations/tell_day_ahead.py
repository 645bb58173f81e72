"""The evening before: tell every household and every source what tomorrow brings; later, tell
those whose day has changed since, and only those.

Sources are told too when nobody comes, so that they can decide before closing. What a notice
told is kept as a short mark of the day; when the day's mark differs, the next version is told.
"""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, timedelta

from django.db import transaction

from apps.digesters.models import Digester
from apps.groups.models import Group, Work
from apps.kernel.days import local_date
from apps.notices.models import Notice
from apps.notices.operations.give_notice import give_notice
from apps.people.models import Member
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.planning.models import Plan, PlanStatus
from apps.supply.models import Source

TELL_WORK = "tell_day_ahead"


def tell_day_ahead(work: Work) -> None:
    """Consumer of the daily work `tell_day_ahead`; its key is the local date of the evening."""
    tell_of_day(work.group, date.fromisoformat(work.key) + timedelta(days=1), datetime.now(UTC))


def tell_changes(work: Work, now: datetime | None = None) -> None:
    """Consumer of the work that follows `plan_announced`, `pickup_withdrawn` and a round that was
    announced or dropped: today, and tomorrow once the evening's messages are out."""
    now = now or datetime.now(UTC)
    group, today = work.group, local_date(now, work.group.time_zone)
    for evening in (today - timedelta(days=1), today):
        is_told = (
            Work.objects.of(group)
            .filter(kind=TELL_WORK, key=evening.isoformat(), done_at__isnull=False)
            .exists()
        )
        if is_told:
            tell_of_day(group, evening + timedelta(days=1), now)


@transaction.atomic
def tell_of_day(group: Group, on: date, now: datetime) -> None:
    """One notice for each digester and source with somebody to tell, unless their last one says
    the same; nothing when no announced plan has ever covered the day. The pickups are read
    twice, whatever their number."""
    if not _is_planned(group, on):
        return
    pickups = list(
        Pickup.objects.of(group)
        .filter(on=on)
        .exclude(state=State.WITHDRAWN)
        .order_by("id")
        .values_list("digester_id", "source_id", "uuid", "revision", "state", "fetcher_id")
    )
    told = _told(group, on)
    digesters = Digester.objects.of(group).filter(household__left_at=None)
    for digester in digesters.exclude(household=None).select_related("household__group"):
        # What a home answered itself is no news to it; that somebody else brings it is.
        mine = [
            f"{uuid}:{revision}"
            + (f":{fetcher_id}" if fetcher_id not in (None, digester.household_id) else "")
            for d, _s, uuid, revision, _state, fetcher_id in pickups
            if d == digester.pk
        ]
        payload = {"digester": str(digester.uuid), "on": on.isoformat(), "mark": _mark(mine)}
        _tell(told, digester.household, "digester_day", f"digester-{digester.uuid}-{on}",
              payload, now)  # fmt: skip
    sources = Source.objects.of(group).filter(is_active=True, contact__left_at=None)
    for source in sources.exclude(contact=None).select_related("contact__group"):
        coming = [
            f"{uuid}:{revision}"
            for _d, s, uuid, revision, state, _fetcher in pickups
            if s == source.pk and state not in (State.DECLINED, State.FAILED)
        ]
        payload = {"source": str(source.uuid), "on": on.isoformat(), "mark": _mark(coming)}
        _tell(told, source.contact, "source_day", f"source-{source.uuid}-{on}", payload, now)


Told = dict[tuple[int, str, str], Notice]


def _told(group: Group, on: date) -> Told:
    """The last version of each notice about that day."""
    rows = Notice.objects.of(group).filter(
        kind__in=("digester_day", "source_day"), subject__endswith=f"-{on}"
    )
    return {
        (notice.member_id, notice.kind, notice.subject): notice
        for notice in rows.order_by("version")
    }


def _tell(
    told: Told, member: Member, kind: str, subject: str, payload: dict[str, str], now: datetime
) -> None:
    last = told.get((member.pk, kind, subject))
    if last is not None and last.payload.get("mark") == payload["mark"]:
        return
    version = last.version + 1 if last is not None else 1
    give_notice(member, kind, subject, now=now, version=version, payload=payload)


def _mark(parts: list[str]) -> str:
    return hashlib.sha256(" ".join(parts).encode()).hexdigest()[:16]


def _is_planned(group: Group, on: date) -> bool:
    plans = Plan.objects.of(group).exclude(status=PlanStatus.DRAFT).filter(starts_on__lte=on)
    return any(
        on < starts_on + timedelta(days=days)
        for starts_on, days in plans.values_list("starts_on", "days")
    )
