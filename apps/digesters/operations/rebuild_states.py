"""Throw a digester's model states away and make them anew; equal hashes mean equal states."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import QuerySet

from apps.digesters.models import Digester, ModelState
from apps.digesters.operations.update_model import update_models
from apps.groups.models import Group


@dataclass(frozen=True)
class Rebuilt:
    """How one digester's states compare with what was stored."""

    digester: str
    same_days: int
    changed_days: int
    new_days: int


@transaction.atomic
def rebuild_states(
    group: Group, digesters: Iterable[Digester], *, now: datetime, since: date | None = None
) -> list[Rebuilt]:
    """From `since` on; without it, all of what lies within the days looked back on."""
    digesters = list(digesters)
    stored = ModelState.objects.of(group).filter(digester__in=digesters)
    if since is not None:
        stored = stored.filter(on__gte=since)
    before = _hashes(stored)
    stored.delete()
    update_models(group, now=now, digesters=digesters)
    after = _hashes(ModelState.objects.of(group).filter(digester__in=digesters))
    return [
        Rebuilt(
            each.code,
            same_days=sum(
                after.get(key) == kept for key, kept in before.items() if key[0] == each.pk
            ),
            changed_days=sum(
                key in after and after[key] != kept
                for key, kept in before.items()
                if key[0] == each.pk
            ),
            new_days=sum(
                key not in before and (since is None or key[1] >= since)
                for key in after
                if key[0] == each.pk
            ),
        )
        for each in digesters
    ]


def _hashes(states: QuerySet[ModelState]) -> dict[tuple[int, date], str]:
    rows = states.values_list("digester_id", "on", "inputs_hash")
    return {(pk, on): each for pk, on, each in rows}
