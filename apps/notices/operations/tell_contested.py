"""A weight is contested, or settled: tell both sides; of a contested one the coordinators too."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import transaction

from apps.groups.models import Fact, Work
from apps.notices.operations.give_notice import give_notice
from apps.people.models import Member
from apps.pickups.models import Pickup
from apps.pickups.queries.who_to_ask import coordinators


@transaction.atomic
def tell_contested(work: Work) -> None:
    """Consumer after `weight_contested`."""
    _tell(work, "pickup_contested", coordinators(work.group))


@transaction.atomic
def tell_settled(work: Work) -> None:
    """Consumer after `weight_settled`."""
    _tell(work, "pickup_settled", [])


def _tell(work: Work, kind: str, more: list[Member]) -> None:
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    pickup = (
        Pickup.objects.of(work.group)
        .select_related("source__contact__group", "digester__household__group", "fetcher__group")
        .get(uuid=fact.subject_uuid)
    )
    sides = (pickup.source.contact, pickup.fetcher, pickup.digester.household)
    told = {each.pk: each for each in (*sides, *more) if each is not None and not each.left_at}
    for member in told.values():
        give_notice(
            member,
            kind,
            f"fact-{fact.uuid}",
            now=datetime.now(UTC),
            payload={"pickup": str(pickup.uuid), **_figures(fact)},
        )


def _figures(fact: Fact) -> dict[str, bool]:
    """Whose weight stands, where it was settled."""
    return {key: fact.payload[key] for key in ("giver_is_right",) if key in fact.payload}
