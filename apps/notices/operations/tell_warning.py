"""Tell a household, and for the grave ones the coordinators, what its digester is warned of."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import transaction

from apps.digesters.core.process.digester_view import WarningKind
from apps.digesters.models import Digester
from apps.groups.models import Fact, Work
from apps.notices.operations.give_notice import give_notice
from apps.pickups.queries.who_to_ask import coordinators

TOLD_AT_HOME = frozenset(
    {
        WarningKind.SOURING,
        WarningKind.GAS_DROP,
        WarningKind.FULL_HOLDER,
        WarningKind.COLD_FRONT,
        WarningKind.AMMONIA,
    }
)
"""The others stand on the digester's page; a message for each would not be read any more."""

GRAVE = frozenset({WarningKind.SOURING, WarningKind.GAS_DROP})


@transaction.atomic
def tell_warning(work: Work) -> None:
    """Consumer after `warning_raised`: once, since a warning is raised once."""
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    kind = WarningKind(fact.payload["warning"])
    digester = (
        Digester.objects.of(work.group)
        .select_related("household__group")
        .get(uuid=fact.subject_uuid)
    )
    told = {each.pk: each for each in coordinators(work.group)} if kind in GRAVE else {}
    if kind in TOLD_AT_HOME and digester.household is not None:
        told[digester.household.pk] = digester.household
    for member in told.values():
        give_notice(
            member,
            "digester_warning",
            f"fact-{fact.uuid}",
            now=datetime.now(UTC),
            payload={"digester": str(digester.uuid), "raised": fact.payload},
        )
