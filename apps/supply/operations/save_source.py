"""Make a source or change one."""

from __future__ import annotations

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.save_row import check_row
from apps.ledger.models import AccountKind
from apps.ledger.operations.open_account import open_account
from apps.people.models import Member
from apps.places.models import Place
from apps.supply.models import Source, SourceKind


@transaction.atomic
def save_source(
    group: Group,
    *,
    code: str,
    name: str,
    kind: SourceKind | str,
    place: Place,
    contact: Member | None = None,
    max_homes_per_day: int = 2,
    is_active: bool = True,
) -> Source:
    """Make the source `code` with its account in the ledger, or change it."""
    source = Source.objects.of(group).filter(code=code).first() or Source(group=group, code=code)
    source.name = name
    source.kind = kind
    source.place = place
    source.contact = contact
    source.max_homes_per_day = max_homes_per_day
    source.is_active = is_active
    if source.account_id is None:
        source.account = open_account(group, AccountKind.SOURCE, code, name)
    check_row(source)
    source.save()
    return source
