"""Two people weighed one pickup differently: a coordinator who asked both says whose stands.

The book is never edited: what the fetcher weighed is taken back and the settled weight recorded
anew, in one transaction.
"""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict
from apps.ledger.models import AccountKind, Posting, PostingKind
from apps.ledger.operations.record_collection import record_collection
from apps.ledger.operations.reverse_posting import reverse_posting
from apps.people.models import Member
from apps.pickups.core.life import State
from apps.pickups.core.weights import share_out
from apps.pickups.models import Pickup, PickupLine
from apps.pickups.queries.two_weights import two_weights


class NothingToSettle(Conflict):
    """The two weights agree, one of them is missing, or nothing has arrived."""

    code = "nothing_to_settle"


@transaction.atomic
def settle_weight(
    group: Group,
    pickup_uuid: UUID,
    *,
    giver_is_right: bool,
    now: datetime,
    settled_by: Member,
    client_key: str,
) -> Pickup:
    """What was set aside stays as it was. What was fed stays fed: when the settled weight is less
    than that, the bin ends at zero and the difference is booked as found there, arrival not
    recorded. Fact: `weight_settled`, with both figures."""
    pickup: Pickup | None = (
        Pickup.objects.of(group)
        .select_for_update(of=("self",))
        .select_related("source__account", "digester__bin_account")
        .filter(uuid=pickup_uuid)
        .first()
    )
    if pickup is None:
        raise Http404
    if pickup.state != State.DELIVERED:
        raise NothingToSettle(
            _("This waste has not arrived. Settle its weight when it has, if they still differ.")
        )
    both = two_weights(pickup)
    if not both.is_contested:
        raise NothingToSettle(_("The two weights agree by now. Nothing more is to be done."))
    if giver_is_right and both.giver_g is None:
        raise NothingToSettle(_("The source has not weighed. Ask what it was and write that down."))
    Pickup.unscoped.filter(pk=pickup.pk).update(contested_at=None)
    pickup.contested_at = None
    if giver_is_right and both.giver_g is not None:
        _book_anew(group, pickup, both.giver_g, now, settled_by, client_key)
    else:
        pickup.giver_weight_g = both.fetcher_g
        pickup.save(update_fields=["giver_weight_g"])
    record_fact(
        group,
        "weight_settled",
        happened_at=now,
        subject_uuid=pickup.uuid,
        payload={
            "giver_g": both.giver_g,
            "fetcher_g": both.fetcher_g,
            "giver_is_right": giver_is_right,
        },
        actor_uuid=settled_by.uuid,
    )
    return pickup


def _book_anew(
    group: Group,
    pickup: Pickup,
    collected_g: int,
    now: datetime,
    settled_by: Member,
    client_key: str,
) -> None:
    lines = list(pickup.lines.select_related("stream__material"))
    shares = share_out(collected_g, [line.collected_g or 0 for line in lines])
    delivered_g: dict[Material, int] = {}
    rejected_g: dict[Material, int] = {}
    for line, share_g in zip(lines, shares, strict=True):
        aside_g = min(share_g, (line.collected_g or 0) - (line.delivered_g or 0))
        line.collected_g, line.delivered_g = share_g, share_g - aside_g
        material = line.stream.material
        delivered_g[material] = delivered_g.get(material, 0) + share_g - aside_g
        rejected_g[material] = rejected_g.get(material, 0) + aside_g
    PickupLine.unscoped.bulk_update(lines, ["collected_g", "delivered_g"])
    booked = (
        Posting.objects.of(group)
        .filter(
            client_key__startswith=f"pickup-{pickup.uuid}",
            kind=PostingKind.PICKUP,
            reversed_by=None,
        )
        .get()
    )
    # The new one first, so that a bin out of which some was fed does not fall below zero between.
    record_collection(
        group,
        source_account=pickup.source.account,
        bin_account=pickup.digester.bin_account,
        delivered_g=delivered_g,
        rejected_g=rejected_g,
        rejected_to=AccountKind.DISCARDED,
        happened_at=booked.happened_at,
        now=now,
        client_key=f"pickup-{pickup.uuid}-{client_key}",
        recorded_by_uuid=settled_by.uuid,
    )
    reverse_posting(
        group,
        booked,
        reason="weight settled",
        now=now,
        client_key=f"settled-{client_key}",
        recorded_by_uuid=settled_by.uuid,
    )
