"""Tell a carrier that a round was announced, changed by somebody else, or dropped."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import transaction

from apps.groups.models import Fact, Work
from apps.notices.operations.give_notice import give_notice
from apps.rounds.models import Round


@transaction.atomic
def tell_round(work: Work, now: datetime | None = None) -> None:
    """Consumer after `round_announced`, `round_changed` and `round_dropped`. Whoever changed the
    own round knows already."""
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    found = (
        Round.objects.of(work.group)
        .select_related("carrier__member__group")
        .get(uuid=fact.subject_uuid)
    )
    member = found.carrier.member
    if fact.actor_uuid == member.uuid and fact.kind == "round_changed":
        return
    give_notice(
        member,
        "round_dropped" if fact.kind == "round_dropped" else "round",
        f"round-{found.uuid}",
        now=now or datetime.now(UTC),
        version=fact.payload["version"],
        payload={"round": str(found.uuid), "is_change": fact.kind == "round_changed"},
    )
