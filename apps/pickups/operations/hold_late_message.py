"""Keep what was sent by a link that has ended, and settle it once a coordinator has looked."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict, Refused
from apps.people.models import Member
from apps.pickups.models import DayLink, LateKind, LateMessage, Pickup
from apps.pickups.queries.who_to_ask import whom_to_ask

MOST_OF_A_LINK = 20
"""Messages kept from one link, whether settled or not. Ours."""
MOST_BYTES = 4_000
"""Of one message. Ours; the longest form of the day's page sends about 600."""


class NotKept(Refused):
    """Too long, or too many from one link."""

    code = "late_message_not_kept"


class SettledOtherwise(Conflict):
    """Somebody settled it the other way before."""

    code = "late_message_settled"


@dataclass(frozen=True, slots=True)
class Late:
    """What was sent: `words` are the fields without keys of forms; grams where a weight is said."""

    part: str
    kind: LateKind
    words: Mapping[str, list[str]]
    language: str
    pickup: Pickup | None = None
    amount_g: int | None = None

    @property
    def digest(self) -> str:
        """The same for the same words about the same pickup."""
        about = str(self.pickup.uuid) if self.pickup else ""
        text = json.dumps([self.part, about, dict(self.words)], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()


@transaction.atomic
def hold_late_message(link: DayLink, late: Late, *, now: datetime) -> LateMessage:
    """Keep it; the same words again are the same row. Fact: `late_message_held`.

    Raises `NotKept` when it is too long or the link has used up its messages."""
    size = len(json.dumps(dict(late.words)).encode())
    if size > MOST_BYTES:
        raise NotKept(
            _("This link has ended and %(size)s characters are too many to keep. Tell %(name)s."),
            figures={"size": size, "name": whom_to_ask(link.group)},
        )
    # One at a time from a link, so that its messages are counted right.
    DayLink.objects.of(link.group).select_for_update().get(pk=link.pk)
    kept = LateMessage.objects.of(link.group).filter(link=link)
    same = kept.filter(digest=late.digest).first()
    if same is not None:
        return same
    if kept.count() >= MOST_OF_A_LINK:
        raise NotKept(
            _("This link has ended and %(most)s messages from it are kept already. Tell %(name)s."),
            figures={"most": MOST_OF_A_LINK, "name": whom_to_ask(link.group)},
        )
    message = LateMessage.unscoped.create(
        group=link.group,
        link=link,
        pickup=late.pickup,
        part=late.part,
        kind=late.kind,
        amount_g=late.amount_g,
        words=dict(late.words),
        language=late.language,
        digest=late.digest,
        received_at=now,
    )
    record_fact(
        link.group,
        "late_message_held",
        happened_at=now,
        subject_uuid=message.uuid,
        payload={"kind": late.kind.value, "on": link.on.isoformat()},
        actor_uuid=link.member.uuid,
    )
    return message


@transaction.atomic
def settle_late_message(
    group: Group, uuid: UUID, *, is_applied: bool, now: datetime, settled_by: Member
) -> tuple[LateMessage, bool]:
    """Whoever applies it writes down what it says in the same transaction. The second of two taps
    changes nothing. Fact: `late_message_settled`."""
    message = (
        LateMessage.objects.of(group)
        .select_for_update(of=("self",))
        .select_related("link__member", "link__digester", "link__source", "pickup")
        .filter(uuid=uuid)
        .first()
    )
    if message is None:
        raise Http404
    if message.settled_at is not None:
        if message.is_applied != is_applied:
            raise SettledOtherwise(_("Somebody has settled this meanwhile. Look at it again."))
        return message, False
    message.settled_at, message.settled_by, message.is_applied = now, settled_by, is_applied
    message.save(update_fields=["settled_at", "settled_by", "is_applied"])
    record_fact(
        group,
        "late_message_settled",
        happened_at=now,
        subject_uuid=message.uuid,
        payload={"is_applied": is_applied},
        actor_uuid=settled_by.uuid,
    )
    return message, True
