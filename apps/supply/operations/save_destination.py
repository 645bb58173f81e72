"""Make a destination for left-overs or change one."""

from __future__ import annotations

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.save_row import check_row
from apps.ledger.models import AccountKind
from apps.ledger.operations.open_account import open_account
from apps.places.models import Place
from apps.supply.models import Destination


@transaction.atomic
def save_destination(
    group: Group,
    *,
    code: str,
    name: str,
    place: Place,
    capacity_g_per_day: int,
    is_active: bool = True,
) -> Destination:
    """Make the destination `code` with its account in the ledger, or change it."""
    found = Destination.objects.of(group).filter(code=code).first()
    destination = found or Destination(group=group, code=code)
    destination.name = name
    destination.place = place
    destination.capacity_g_per_day = capacity_g_per_day
    destination.is_active = is_active
    if destination.account_id is None:
        destination.account = open_account(group, AccountKind.COMPOSTED, code, name)
    check_row(destination)
    destination.save()
    return destination
