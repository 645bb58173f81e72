"""What is asked of the ledger: an entry, checked before anything is written."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.kernel.quantities import MAX_FACT
from apps.kernel.words import gettext_noop
from apps.ledger.models import Account, LiquidKind, Posting, PostingKind

CLOCK_SLACK = timedelta(minutes=5)
"""How far a phone's clock may run ahead of ours."""

CLIENT_KEY_LENGTH = 100
NOTE_LENGTH = 200


class UnbelievableAmount(Refused):
    """An amount that no fact may have."""

    code = "unbelievable_amount"


class InTheFuture(Refused):
    """A fact cannot have happened later than now."""

    code = "in_the_future"


class UnreadableText(Refused):
    """A client key or note that cannot be kept."""

    code = "unreadable_text"


@dataclass(frozen=True, slots=True)
class Move:
    """Grams of one material from one account to another."""

    from_account: Account
    to_account: Account
    material: Material
    amount_g: int


@dataclass(frozen=True, slots=True)
class Pour:
    """Millilitres into (water) or out of (outflow) a digester's account."""

    account: Account
    kind: LiquidKind
    amount_ml: int


@dataclass(frozen=True, slots=True)
class Entry:
    """One posting to be. `on` is a local day of the group (see `entry_day`)."""

    kind: PostingKind
    on: date
    happened_at: datetime
    client_key: str
    moves: tuple[Move, ...] = ()
    pours: tuple[Pour, ...] = ()
    recorded_by_uuid: UUID | None = None
    note: str = ""
    reverses: Posting | None = None

    @property
    def content_hash(self) -> str:
        """SHA-256 of what was asked. The instant is left out: a form sent twice within a day is
        a repeat even when nobody stated the minute."""
        content = {
            "kind": str(self.kind),
            "on": self.on.isoformat(),
            "note": self.note,
            "reverses": str(self.reverses.uuid) if self.reverses else "",
            "moves": sorted(
                (str(m.from_account.uuid), str(m.to_account.uuid), m.material.code, m.amount_g)
                for m in self.moves
            ),
            "pours": sorted((str(p.account.uuid), str(p.kind), p.amount_ml) for p in self.pours),
        }
        return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def entry_day(group: Group, happened_at: datetime) -> date:
    """The group's local date of an instant, stored with what is written."""
    return local_date(happened_at, group.time_zone)


def moves_between(
    from_account: Account, to_account: Account, amounts_g: Mapping[Material, int]
) -> tuple[Move, ...]:
    """One move for each material, in the order of their codes; a zero is nothing to move."""
    return tuple(
        Move(from_account, to_account, material, amount_g)
        for material, amount_g in sorted(amounts_g.items(), key=lambda item: item[0].code)
        if amount_g != 0
    )


def check_entry(entry: Entry, *, now: datetime) -> None:
    """Refuse amounts that no fact may have, the future, and texts that cannot be kept."""
    amounts = [m.amount_g for m in entry.moves] + [abs(p.amount_ml) for p in entry.pours]
    for amount in amounts:
        if isinstance(amount, bool) or not isinstance(amount, int) or not 1 <= amount <= MAX_FACT:
            raise UnbelievableAmount(
                gettext_noop(
                    "%(given)s g or ml cannot be written down: at least 1 and at most %(most)s. "
                    "Check the figure, or record it in parts."
                ),
                figures={"given": amount, "most": MAX_FACT},
            )
    if not amounts:
        raise UnbelievableAmount(
            gettext_noop("Nothing was moved: 0 g and 0 ml. Give at least one amount."),
            figures={"given": 0},
        )
    for name, text, least, most in (
        ("client_key", entry.client_key, 1, CLIENT_KEY_LENGTH),
        ("note", entry.note, 0, NOTE_LENGTH),
    ):
        if not least <= len(text) <= most or "\x00" in text:
            raise UnreadableText(
                gettext_noop(
                    "The %(name)s has %(length)s characters; give %(least)s to %(most)s plain ones."
                ),
                field=name,
                figures={"name": name, "length": len(text), "least": least, "most": most},
            )
    if entry.happened_at > now + CLOCK_SLACK:
        raise InTheFuture(
            gettext_noop("%(given)s has not come yet. Give the time at which it happened."),
            field="happened_at",
            figures={"given": f"{entry.happened_at:%Y-%m-%d %H:%M %Z}"},
        )
