"""Take up what anybody, with or without an account, smelled or saw at a place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from apps.digesters.core.concerns import ANSWER_WITHIN, say_deadline, say_gas_smell
from apps.digesters.models import Concern, ConcernKind
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.kernel.sentences import Sentence
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.places.models import Place

MOST_PER_HOUR = 20
"""Concerns of a group within an hour, smells of gas not counted. Ours."""

NOTE_LENGTH = 200


class TooManyConcerns(Refused):
    """More than anybody can look at; a smell of gas is always taken up."""

    code = "too_many_concerns"
    status = 429


class UnreadableConcern(Refused):
    """A note that cannot be kept."""

    code = "unreadable_concern"


@dataclass(frozen=True, slots=True)
class Raised:
    """The concern, what to say to whoever raised it, and whether it joined an open one."""

    concern: Concern
    sentences: tuple[Sentence, ...]
    is_repeat: bool


@transaction.atomic
def raise_concern(
    place: Place,
    kind: ConcernKind,
    *,
    now: datetime,
    client_key: str,
    note: str = "",
    raised_by: Member | None = None,
) -> Raised:
    """Nobody's name is asked for. While the same is open at the place, another report joins it.

    Facts: `concern_raised`; `gas_smelled` for a smell of gas, which from this moment puts every
    limit of the place's digesters to zero.
    """
    if len(note) > NOTE_LENGTH or "\x00" in note:
        raise UnreadableConcern(
            gettext_noop("The note has %(length)s characters; write at most %(most)s plain ones."),
            field="note",
            figures={"length": len(note), "most": NOTE_LENGTH},
        )
    group = Group.objects.select_for_update(no_key=True).get(pk=place.group_id)
    rows = Concern.objects.of(group)
    there = (
        rows.filter(client_key=client_key).first()
        or rows.filter(place=place, kind=kind, closed_at=None).first()
    )
    if there is not None:
        return Raised(there, _words(group, there), True)
    if kind != ConcernKind.GAS_SMELL:
        lately = rows.filter(raised_at__gt=now - timedelta(hours=1)).exclude(
            kind=ConcernKind.GAS_SMELL
        )
        if lately.count() >= MOST_PER_HOUR:
            raise TooManyConcerns(
                gettext_noop(
                    "%(count)s concerns came within the hour. They are being looked at; try "
                    "again later. If you smell gas, say so: that is always taken."
                ),
                figures={"count": MOST_PER_HOUR},
            )
    concern = Concern.unscoped.create(
        group=group,
        place=place,
        kind=kind,
        note=note.strip(),
        raised_at=now,
        raised_by=raised_by,
        deadline_at=now + ANSWER_WITHIN[kind],
        client_key=client_key,
    )
    facts = ("concern_raised", "gas_smelled")
    for fact in facts if kind == ConcernKind.GAS_SMELL else facts[:1]:
        record_fact(
            group,
            fact,
            happened_at=now,
            subject_uuid=concern.uuid,
            payload={"kind": str(kind), "place": str(place.uuid)},
            actor_uuid=raised_by.uuid if raised_by else None,
        )
    return Raised(concern, _words(group, concern), False)


def _words(group: Group, concern: Concern) -> tuple[Sentence, ...]:
    if concern.kind == ConcernKind.GAS_SMELL:
        return say_gas_smell(group.emergency_number)
    local = concern.deadline_at.astimezone(ZoneInfo(group.time_zone))
    return say_deadline(f"{local:%Y-%m-%d %H:%M}")
