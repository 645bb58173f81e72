"""Write down waste that was not fed: composted, returned, discarded or spoiled."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.ledger.models import Account, AccountKind, PostingKind
from apps.ledger.operations.entry import Entry, entry_day, moves_between
from apps.ledger.operations.post import Posted, post

SET_ASIDE_KINDS = frozenset(
    {AccountKind.COMPOSTED, AccountKind.RETURNED, AccountKind.DISCARDED, AccountKind.SPOILED}
)


class NotSetAside(Refused):
    """The account is not one where waste is set aside."""

    code = "not_set_aside"


def set_aside(
    group: Group,
    *,
    from_account: Account,
    to_account: Account,
    amounts_g: Mapping[Material, int],
    happened_at: datetime,
    now: datetime,
    client_key: str,
    recorded_by_uuid: UUID | None = None,
    note: str = "",
) -> Posted:
    """Grams from a bin, a source or a carrier to a destination's account or one of the group's
    shared set-aside accounts (`shared_account`)."""
    if to_account.kind not in SET_ASIDE_KINDS:
        raise NotSetAside(
            gettext_noop(
                "%(name)s is not a place for waste that is set aside. "
                "Choose a compost place, or say that it was returned, discarded or spoiled."
            ),
            figures={"name": to_account.name},
        )
    entry = Entry(
        kind=PostingKind.SET_ASIDE,
        on=entry_day(group, happened_at),
        happened_at=happened_at,
        client_key=client_key,
        moves=moves_between(from_account, to_account, amounts_g),
        recorded_by_uuid=recorded_by_uuid,
        note=note,
    )
    return post(group, entry, now=now)
