"""Somebody asks for what comes every week, agrees to it, or ends it: tell the other side."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import transaction

from apps.groups.models import Fact, Work
from apps.notices.operations.give_notice import give_notice
from apps.planning.models import Standing


@transaction.atomic
def tell_standing(work: Work) -> None:
    """Consumer after `standing_asked`, `standing_agreed` and `standing_ended`: who gives and who
    takes, but for whoever did it. Where it still waits for one side, only that one."""
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    standing = (
        Standing.objects.of(work.group)
        .select_related("stream__source__contact__group", "digester__household__group")
        .get(uuid=fact.subject_uuid)
    )
    sides = (
        (standing.stream.source.contact, standing.by_giver),
        (standing.digester.household, standing.by_taker),
    )
    is_for_both = fact.kind == "standing_asked" and standing.agreed_by_id == standing.asked_by_id
    kind = "standing_agreed" if is_for_both else fact.kind
    for member, has_agreed in sides:
        if member is None or member.left_at is not None or member.uuid == fact.actor_uuid:
            continue
        if kind == "standing_asked" and has_agreed:
            continue
        give_notice(
            member,
            kind,
            f"standing-{standing.uuid}",
            now=datetime.now(UTC),
            payload={"standing": str(standing.uuid)},
        )
