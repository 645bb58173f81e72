"""Take a posting back by its mirror image; what is right is then recorded anew."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.kernel.errors import Conflict
from apps.kernel.words import gettext_noop
from apps.ledger.models import Posting, PostingKind
from apps.ledger.operations.entry import Entry, Move, Pour
from apps.ledger.operations.post import Posted, post


class CannotReverse(Conflict):
    """It was reversed before, or is itself a reversal."""

    code = "cannot_reverse"


@transaction.atomic
def reverse_posting(
    group: Group,
    posting: Posting,
    *,
    reason: str,
    now: datetime,
    client_key: str,
    recorded_by_uuid: UUID | None = None,
) -> Posted:
    """Mirror every movement and liquid, on the day of the original, so that the day's sums come
    out as if it had not been; `recorded_at` tells when it was taken back. Once only."""
    # Locked, so that of two people who take it back at once the second is told.
    posting = Posting.objects.of(group).select_for_update().get(pk=posting.pk)
    if posting.kind == PostingKind.REVERSAL:
        raise CannotReverse(
            gettext_noop(
                "This takes another record back and stays. Record again what really happened."
            )
        )
    before = Posting.objects.of(group).filter(reverses=posting).first()
    if before is not None and before.client_key != client_key:
        raise CannotReverse(
            gettext_noop("This was already taken back on %(on)s. Nothing more is to be done."),
            figures={"on": before.recorded_at.date(), "reversed_by": str(before.uuid)},
        )
    moves = tuple(
        Move(movement.to_account, movement.from_account, movement.material, movement.amount_g)
        for movement in posting.movements.select_related("from_account", "to_account", "material")
    )
    pours = tuple(
        Pour(liquid.account, liquid.kind, -liquid.amount_ml)
        for liquid in posting.liquids.select_related("account")
    )
    entry = Entry(
        kind=PostingKind.REVERSAL,
        on=posting.on,
        happened_at=posting.happened_at,
        client_key=client_key,
        moves=moves,
        pours=pours,
        recorded_by_uuid=recorded_by_uuid,
        note=reason,
        reverses=posting,
    )
    return post(group, entry, now=now)
