"""Tell a source what was found among its waste: how to sort, a pause, and the way back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from django.db import transaction

from apps.groups.models import Fact, Work
from apps.kernel.days import local_date
from apps.notices.operations.give_notice import give_notice
from apps.pickups.core.foreign import LOOK_BACK_DAYS, Advice
from apps.pickups.models import ForeignMatter, StreamPause
from apps.supply.models import Stream

WHAT = {"stream_paused": "paused", "stream_resumed": "resumed", "trial_failed": "trial_failed"}


@transaction.atomic
def tell_source_sorting(work: Work) -> None:
    """Consumer after `foreign_matter_found`, `stream_paused`, `stream_resumed`, `trial_failed`.
    A single find tells nobody; from the second day with one on, once a day."""
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    what = WHAT.get(fact.kind, "warned")
    if what == "warned" and fact.payload["advice"] == Advice.NOTHING:
        return
    stream = (
        Stream.objects.of(work.group)
        .select_related("source__contact__group")
        .get(uuid=fact.subject_uuid)
    )
    contact = stream.source.contact
    if contact is None or contact.left_at is not None:
        return
    on = local_date(fact.happened_at, work.group.time_zone)
    finds = ForeignMatter.objects.of(work.group).filter(
        stream=stream, on__gt=on - timedelta(days=LOOK_BACK_DAYS)
    )
    pause = StreamPause.objects.of(work.group).filter(stream=stream).last()
    give_notice(
        contact,
        "source_sorting",
        f"{stream.uuid}-{on}" if what == "warned" else f"fact-{fact.uuid}",
        now=datetime.now(UTC),
        payload={
            "stream": str(stream.uuid),
            "what": what,
            "kinds": sorted(set(finds.values_list("kind", flat=True))),
            "reason": pause.reason if pause is not None and what == "paused" else "",
        },
    )
