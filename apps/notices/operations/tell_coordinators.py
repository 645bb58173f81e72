"""Tell the coordinators, or whoever asked, what cannot wait for the evening."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import transaction

from apps.digesters.models import Concern
from apps.groups.models import Fact, Work
from apps.notices.operations.give_notice import give_notice
from apps.pickups.models import Pickup
from apps.pickups.queries.who_to_ask import coordinators


def _fact(work: Work) -> Fact:
    fact: Fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    return fact


@transaction.atomic
def tell_concern(work: Work) -> None:
    """Consumer after `concern_raised`: every coordinator, at once."""
    concern = Concern.objects.of(work.group).get(uuid=_fact(work).subject_uuid)
    for member in coordinators(work.group):
        give_notice(
            member,
            "concern_raised",
            f"concern-{concern.uuid}",
            now=datetime.now(UTC),
            payload={"concern": str(concern.uuid)},
        )


@transaction.atomic
def tell_concern_closed(work: Work) -> None:
    """Consumer after `concern_closed`: whoever raised it, when that is known; anybody else
    finds the answer on the page of the concern."""
    concern = (
        Concern.objects.of(work.group)
        .select_related("raised_by__group")
        .get(uuid=_fact(work).subject_uuid)
    )
    if concern.raised_by is not None:
        give_notice(
            concern.raised_by,
            "concern_closed",
            f"concern-{concern.uuid}",
            now=datetime.now(UTC),
            payload={"concern": str(concern.uuid)},
        )


@transaction.atomic
def tell_pickup_open(work: Work) -> None:
    """Consumer after `pickup_declined` and `pickup_failed`: the waste has no home."""
    fact = _fact(work)
    if fact.payload.get("reason") == "composted":
        return
    pickup = Pickup.objects.of(work.group).get(uuid=fact.subject_uuid)
    for member in coordinators(work.group):
        give_notice(
            member,
            "pickup_open",
            f"pickup-{pickup.uuid}",
            now=datetime.now(UTC),
            version=pickup.revision,
            payload={"pickup": str(pickup.uuid), "reason": fact.payload.get("reason", "")},
        )


@transaction.atomic
def tell_overfed(work: Work) -> None:
    """Consumer after `overfed`."""
    fact = _fact(work)
    for member in coordinators(work.group):
        give_notice(
            member,
            "overfed",
            f"fact-{fact.uuid}",
            now=datetime.now(UTC),
            payload={"digester": str(fact.subject_uuid), **fact.payload},
        )
