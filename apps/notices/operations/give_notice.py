"""Put down that somebody must be told, with the work of telling them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from apps.groups.operations.ask_for_work import ask_for_work
from apps.notices.models import Notice
from apps.people.models import Member


def give_notice(
    member: Member,
    kind: str,
    subject: str,
    *,
    now: datetime,
    version: int = 1,
    payload: Mapping[str, Any] | None = None,
    due_at: datetime | None = None,
) -> Notice:
    """Inside the caller's transaction; asking again for the same returns the first."""
    notice, made = Notice.unscoped.get_or_create(
        group=member.group,
        member=member,
        kind=kind,
        subject=subject,
        version=version,
        defaults={"payload": dict(payload or {}), "made_at": now},
    )
    if made:
        ask_for_work(
            member.group,
            "send_notice",
            key=f"notice-{notice.uuid}",
            due_at=due_at or now,
            payload={"notice": str(notice.uuid)},
        )
    return notice
