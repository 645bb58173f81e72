"""Who opened the exact address of a member's own places, when, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from apps.digesters.models import Digester
from apps.groups.models import Fact
from apps.people.models import Member
from apps.places.models import Place
from apps.supply.models import Source

MOST_OPENINGS = 50
"""Older ones are kept as facts, but not listed."""


@dataclass(frozen=True)
class AddressOpening:
    """One look at a hidden address."""

    at: datetime
    place: Place
    by: str
    """Name of who looked."""
    reason: str


def address_openings(member: Member) -> list[AddressOpening]:
    """Of the places where `member` keeps a digester or gives waste, the latest first; five
    queries at most."""
    group = member.group
    own = {
        *Digester.objects.of(group).filter(household=member).values_list("place_id", flat=True),
        *Source.objects.of(group).filter(contact=member).values_list("place_id", flat=True),
    }
    places = {each.uuid: each for each in Place.objects.of(group).filter(pk__in=own)}
    facts = list(
        Fact.objects.of(group)
        .filter(kind="address_opened", subject_uuid__in=places)
        .order_by("-happened_at", "-id")[:MOST_OPENINGS]
    )
    names = dict(
        Member.objects.of(group)
        .filter(uuid__in={fact.actor_uuid for fact in facts})
        .values_list("uuid", "name")
    )
    return [
        AddressOpening(
            fact.happened_at,
            places[fact.subject_uuid],
            names.get(fact.actor_uuid, ""),
            str(fact.payload.get("reason", "")),
        )
        for fact in facts
    ]
