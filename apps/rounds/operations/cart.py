"""What is on a carrier's cart, in the book of grams: put on it, or set aside from it.

One posting for each pickup puts its grams into the carrier's account. Whoever completes the pickup
takes it back by its mirror image (`take_off_cart`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from apps.feedstock.models import Material
from apps.ledger.models import AccountKind, Posting, PostingKind
from apps.ledger.operations.entry import Entry, entry_day, moves_between
from apps.ledger.operations.open_account import shared_account
from apps.ledger.operations.post import post
from apps.ledger.operations.set_aside import set_aside
from apps.pickups.models import Pickup
from apps.pickups.operations.take_off_cart import aside_key, cart_key
from apps.rounds.models import Carrier


def put_on_cart(
    carrier: Carrier,
    pickup: Pickup,
    grams: Mapping[Material, int],
    *,
    happened_at: datetime,
    now: datetime,
    by_uuid: UUID | None,
) -> None:
    """From the source into the carrier's account. `pickup.source.account` is at hand."""
    entry = Entry(
        kind=PostingKind.PICKUP,
        on=entry_day(carrier.group, happened_at),
        happened_at=happened_at,
        client_key=cart_key(pickup),
        moves=moves_between(pickup.source.account, carrier.account, grams),
        recorded_by_uuid=by_uuid,
    )
    post(carrier.group, entry, now=now)


def set_cart_aside(
    carrier: Carrier,
    pickup: Pickup,
    to: AccountKind,
    *,
    happened_at: datetime,
    now: datetime,
    by_uuid: UUID | None,
) -> None:
    """What could not be brought: from the carrier's account to where it went."""
    grams: dict[Material, int] = defaultdict(int)
    posting = Posting.objects.of(carrier.group).get(client_key=cart_key(pickup))
    for movement in posting.movements.select_related("material"):
        grams[movement.material] += movement.amount_g
    set_aside(
        carrier.group,
        from_account=carrier.account,
        to_account=shared_account(carrier.group, to),
        amounts_g=grams,
        happened_at=happened_at,
        now=now,
        client_key=aside_key(pickup),
        recorded_by_uuid=by_uuid,
    )
