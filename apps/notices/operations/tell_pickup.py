"""Tell the one person whom a change of a pickup concerns: who waits, or who is to go."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import transaction

from apps.groups.models import Fact, Work
from apps.notices.operations.give_notice import give_notice
from apps.people.models import Member
from apps.pickups.models import Pickup


@transaction.atomic
def tell_late(work: Work) -> None:
    """Consumer after `pickup_running_late`: the source's contact waits so long."""
    _tell(work, "pickup_late", _contact(work))


@transaction.atomic
def tell_handed_over(work: Work) -> None:
    """Consumer after `pickup_handed_over`: whoever is to go now."""
    fact = _fact(work)
    who = Member.objects.of(work.group).select_related("group").get(uuid=fact.payload["to"])
    _tell(work, "pickup_handed", who)


@transaction.atomic
def tell_composted(work: Work) -> None:
    """Consumer after `pickup_failed`: the source, when its waste is to be composted instead."""
    if _fact(work).payload.get("reason") == "composted":
        _tell(work, "pickup_composted", _contact(work))


def _fact(work: Work) -> Fact:
    fact: Fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    return fact


def _contact(work: Work) -> Member | None:
    pickup = (
        Pickup.objects.of(work.group)
        .select_related("source__contact__group")
        .get(uuid=_fact(work).subject_uuid)
    )
    contact: Member | None = pickup.source.contact
    return contact


def _tell(work: Work, kind: str, member: Member | None) -> None:
    if member is None or member.left_at is not None:
        return
    fact = _fact(work)
    give_notice(
        member,
        kind,
        f"fact-{fact.uuid}",
        now=datetime.now(UTC),
        payload={"pickup": str(fact.subject_uuid)},
    )
