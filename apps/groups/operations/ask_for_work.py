"""Put a piece of work down, once. Nothing is sent anywhere: whoever asks touches the database
only, and the dispatcher finds the row at its next tick."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from apps.groups.models import Group, Work


def ask_for_work(
    group: Group,
    kind: str,
    *,
    key: str,
    due_at: datetime,
    payload: Mapping[str, Any] | None = None,
) -> Work:
    """Return the row of (group, kind, key), made now or before."""
    work, _made = Work.unscoped.get_or_create(
        group=group,
        kind=kind,
        key=key,
        defaults={"due_at": due_at, "payload": dict(payload or {})},
    )
    return work
