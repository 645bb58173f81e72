"""Take a digester into a group's care."""

from __future__ import annotations

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from apps.digesters.models import Digester, StageChange
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.ledger.models import AccountKind
from apps.ledger.operations.open_account import open_account
from apps.people.models import Member


class UnusableDigester(Refused):
    """Something about the digester cannot be; `field` names it."""

    code = "unusable_digester"


@transaction.atomic
def add_digester(
    group: Group, draft: Digester, *, now: datetime, recorded_by: Member | None = None
) -> Digester:
    """Save `draft` (an unsaved `Digester`) with its two accounts and its first stage.

    A plate of zero is taken as "not stated": the digester is kept, and gets no waste until
    somebody states it.
    """
    draft.group = group
    with transaction.atomic():
        draft.account = open_account(group, AccountKind.DIGESTER, draft.code, draft.name)
        draft.bin_account = open_account(group, AccountKind.BIN, draft.code, draft.name)
    try:
        draft.full_clean()
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        raise UnusableDigester(
            _("%(digester)s cannot be added: %(field)s: %(message)s")
            % {"digester": draft.code, "field": field, "message": messages[0]},
            field=field,
        ) from error
    draft.save()
    StageChange.unscoped.create(
        group=group,
        digester=draft,
        stage=draft.stage,
        since_on=draft.stage_since_on,
        evidence={},
        recorded_at=now,
        recorded_by=recorded_by,
    )
    record_fact(
        group,
        "digester_added",
        happened_at=now,
        subject_uuid=draft.uuid,
        payload={"code": draft.code},
        actor_uuid=recorded_by.uuid if recorded_by else None,
    )
    return draft
