"""Change what is known of a digester: its plate, home, bin and wishes. Its stage is not among
them: a stage changes on evidence."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from apps.digesters.models import Digester
from apps.groups.operations.record_fact import record_fact
from apps.groups.operations.save_row import check_row
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member

FIXED = frozenset({"id", "uuid", "group", "code", "account", "bin_account"})
STAGE = frozenset({"stage", "stage_since_on"})


class NotChangeable(Refused):
    """The field is fixed, or changes by another operation."""

    code = "not_changeable"


@transaction.atomic
def change_digester(
    digester: Digester,
    changes: Mapping[str, Any],
    *,
    now: datetime,
    recorded_by: Member | None = None,
) -> Digester:
    """Save the named fields; the next plan and today's limits go by them."""
    for name in changes:
        if name in FIXED | STAGE:
            raise NotChangeable(
                gettext_noop("%(field)s of a digester cannot be changed this way."),
                field=name,
                figures={"field": name},
            )
    row: Digester = (
        Digester.objects.of(digester.group)
        .select_for_update(of=("self",))
        .select_related("group")
        .get(pk=digester.pk)
    )
    changed = sorted(name for name, value in changes.items() if getattr(row, name) != value)
    for name in changed:
        setattr(row, name, changes[name])
    check_row(row)
    if changed:
        row.save(update_fields=changed)
        record_fact(
            row.group,
            "digester_changed",
            happened_at=now,
            subject_uuid=row.uuid,
            payload={"code": row.code, "fields": changed},
            actor_uuid=recorded_by.uuid if recorded_by else None,
        )
    return row
