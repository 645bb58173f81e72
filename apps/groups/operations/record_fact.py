"""Write down that something happened, and the work that follows from it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings

from apps.groups.models import Fact, Group, Work


def record_fact(
    group: Group,
    kind: str,
    *,
    happened_at: datetime,
    subject_uuid: UUID | None = None,
    payload: Mapping[str, Any] | None = None,
    actor_uuid: UUID | None = None,
) -> Fact:
    """Add a fact inside the caller's transaction, with one work row for each kind of work that
    `settings.WORK_AFTER_FACT` names for it."""
    fact = Fact.unscoped.create(
        group=group,
        kind=kind,
        happened_at=happened_at,
        subject_uuid=subject_uuid,
        payload=dict(payload or {}),
        actor_uuid=actor_uuid,
    )
    # The fact is new, so is its key: written without looking whether it is there.
    Work.unscoped.bulk_create(
        Work(
            group=group,
            kind=work_kind,
            key=f"fact-{fact.uuid}",
            due_at=happened_at,
            payload={"fact": str(fact.uuid)},
        )
        for work_kind in settings.WORK_AFTER_FACT.get(kind, ())
    )
    return fact
