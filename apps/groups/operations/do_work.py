"""Claim pieces of work that are due, and do them.

A claim is one conditional update on the database's clock; whoever changed the row does the
work. Two workers that race see one changed row between them. A worker that dies leaves a lease
behind that runs out after `LEASE`; the work is then done again, so consumers must not mind
being called twice.
"""

from __future__ import annotations

import logging
from datetime import timedelta

from django.conf import settings
from django.db import models
from django.db.models.functions import Now
from django.utils.module_loading import import_string

from apps.groups.models import Work

LEASE = timedelta(seconds=60)
MOST_ATTEMPTS = 8

logger = logging.getLogger(__name__)


def _due() -> models.QuerySet[Work]:
    return Work.unscoped.filter(done_at=None, given_up_at=None, due_at__lte=Now()).filter(
        models.Q(leased_until_at=None) | models.Q(leased_until_at__lt=Now())
    )


def due_work(limit: int = 100) -> list[int]:
    """Ids of up to `limit` pieces that are due and that nobody has, oldest first."""
    return list(_due().order_by("due_at", "id").values_list("id", flat=True)[:limit])


def do_due_work(limit: int = 100) -> int:
    """Do up to `limit` due pieces here and now; return how many were claimed."""
    return sum(do_work(work_id) for work_id in due_work(limit))


def do_work(work_id: int) -> bool:
    """Claim one piece and do it. False when it is done, not due, or another worker has it."""
    claimed = (
        _due()
        .filter(pk=work_id)
        .update(leased_until_at=Now() + LEASE, attempts=models.F("attempts") + 1)
    )
    if not claimed:
        return False
    work = Work.unscoped.select_related("group").get(pk=work_id)
    try:
        import_string(settings.WORK_CONSUMERS[work.kind])(work)
    except Exception as error:  # one bad row must not stop the others
        logger.exception("Work %s failed at attempt %s.", work, work.attempts)
        _put_back(work, error)
    else:
        Work.unscoped.filter(pk=work_id).update(done_at=Now(), last_error="")
    return True


def _put_back(work: Work, error: Exception) -> None:
    """Try again later, each time after a longer wait; give up loudly after the last attempt."""
    wait = timedelta(seconds=min(30 * 2**work.attempts, 3600))
    changes: dict[str, object] = {
        "leased_until_at": Now() + wait,
        "last_error": f"{type(error).__name__}: {error}"[:500],
    }
    if work.attempts >= MOST_ATTEMPTS:
        changes["given_up_at"] = Now()
    Work.unscoped.filter(pk=work.pk).update(**changes)
