"""Put a piece of work down, once."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from apps.groups.models import Group, Work
from apps.groups.operations.announce_work import announce_work


def ask_for_work(
    group: Group,
    kind: str,
    *,
    key: str,
    due_at: datetime,
    payload: Mapping[str, Any] | None = None,
) -> Work:
    """Return the row of (group, kind, key), made now or before."""
    work, made = Work.unscoped.get_or_create(
        group=group,
        kind=kind,
        key=key,
        defaults={"due_at": due_at, "payload": dict(payload or {})},
    )
    if made:
        transaction.on_commit(lambda: announce_work(work.pk))
    return work
