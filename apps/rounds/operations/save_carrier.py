"""Say how and when a member carries, or change it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.groups.operations.save_row import check_row
from apps.kernel.errors import Refused
from apps.ledger.models import AccountKind
from apps.ledger.operations.open_account import open_account
from apps.people.models import Member
from apps.places.models import Place
from apps.rounds.models import Avoided, Carrier, Moving


class CarrierUnfit(Refused):
    """Hours or a load that no round can have."""

    code = "carrier_unfit"


@dataclass(frozen=True, slots=True)
class RestWish:
    """`length_min` of rest that begin between two times, in minutes after midnight."""

    from_min: int
    till_min: int
    length_min: int


@transaction.atomic
def save_carrier(
    group: Group,
    member: Member,
    *,
    start: Place,
    end: Place | None = None,
    moving: str = Moving.ON_FOOT,
    load_limit_g: int = 60_000,
    from_min: int = 8 * 60,
    till_min: int = 13 * 60,
    rest: RestWish | None = None,
    avoids: Iterable[Place] = (),
    is_active: bool = True,
) -> Carrier:
    """Make the carrier with an account in the ledger, or change them; `avoids` replaces what was
    avoided before."""
    if load_limit_g <= 0:
        raise CarrierUnfit(
            _("With 0 kg nothing can be carried. Give the cart's load limit."),
            field="load_limit_g",
        )
    if from_min >= till_min:
        raise CarrierUnfit(
            _("The hours end before they begin. Give the earlier time first."), field="till_min"
        )
    shunned = {place.pk: place for place in avoids}
    if {start.pk, (end or start).pk} & shunned.keys():
        raise CarrierUnfit(
            _("A round cannot start or end at a place that is not to be visited."), field="avoids"
        )
    found = Carrier.objects.of(group).filter(member=member).first()
    carrier = found or Carrier(group=group, member=member)
    carrier.start, carrier.end = start, end or start
    carrier.moving, carrier.load_limit_g = moving, load_limit_g
    carrier.from_min, carrier.till_min = from_min, till_min
    carrier.rest_from_min = rest.from_min if rest else None
    carrier.rest_till_min = rest.till_min if rest else None
    carrier.rest_min = rest.length_min if rest else None
    carrier.is_active = is_active
    if carrier.account_id is None:
        carrier.account = open_account(group, AccountKind.CARRIER, member.code, member.name)
    check_row(carrier)
    carrier.save()
    carrier.avoided.exclude(place__in=shunned).delete()
    known = set(carrier.avoided.values_list("place_id", flat=True))
    for pk, place in sorted(shunned.items()):
        if pk not in known:
            Avoided.unscoped.create(group=group, carrier=carrier, place=place)
    return carrier
