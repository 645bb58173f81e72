"""Where the pails are."""

from __future__ import annotations

from datetime import date, timedelta

from apps.groups.models import Group
from apps.pickups.models import Pail

UNSEEN_DAYS = 14
"""A pail that nobody has noted for so long is looked for. Ours."""


def pails(group: Group) -> list[Pail]:
    """All in use, by number. One query."""
    return list(
        Pail.objects.of(group)
        .filter(is_retired=False)
        .select_related("owner", "at_source", "at_digester")
        .order_by("code")
    )


def missing_pails(group: Group, on: date) -> list[Pail]:
    """Noted as missing, or moved once and not seen for `UNSEEN_DAYS`. One query."""
    since = on - timedelta(days=UNSEEN_DAYS)
    return [
        pail
        for pail in pails(group)
        if pail.is_missing or (pail.seen_on is not None and pail.seen_on < since)
    ]
