"""What a carrier had on the cart is home: out of the carrier's account, since the pickup itself
books the whole way from source to bin."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from apps.groups.models import Group
from apps.ledger.models import Posting
from apps.ledger.operations.reverse_posting import reverse_posting
from apps.pickups.models import Pickup


def cart_key(pickup: Pickup) -> str:
    """Of the posting that puts a pickup's grams on a cart."""
    return f"cart-{pickup.uuid}"


def aside_key(pickup: Pickup) -> str:
    """Of the posting that sets them aside."""
    return f"{cart_key(pickup)}-aside"


def take_off_cart(group: Group, pickup: Pickup, *, now: datetime, by_uuid: UUID | None) -> None:
    """Take the posting back; nothing happens where there is none, or where it was set aside."""
    key = cart_key(pickup)
    posting = Posting.objects.of(group).filter(client_key=key, reversed_by=None).first()
    aside = Posting.objects.of(group).filter(client_key=aside_key(pickup))
    if posting is None or aside.exists():
        return
    reverse_posting(
        group,
        posting,
        reason="brought home",
        now=now,
        client_key=f"{key}-off",
        recorded_by_uuid=by_uuid,
    )
