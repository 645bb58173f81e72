"""Tell a worker at once that a row waits; a hint only, the row itself is what is remembered."""

from __future__ import annotations

import logging

from django.conf import settings
from django.utils.module_loading import import_string

logger = logging.getLogger(__name__)


def announce_work(work_id: int) -> None:
    """Call `settings.WORK_ANNOUNCER`; a broker that is down delays work, it never loses any."""
    if not settings.WORK_ANNOUNCER:
        return
    try:
        import_string(settings.WORK_ANNOUNCER)(work_id)
    except Exception:
        logger.warning("Nobody could be told of work %s; the next tick will find it.", work_id)
