"""Change what a group has chosen for itself."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.groups.operations.save_row import check_row
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop

CHANGEABLE = frozenset(
    {
        "name",
        "time_zone",
        "language",
        "emergency_number",
        "detour_ppm",
        "reach_m",
        "rota_limit_days",
        "air_normals_c",
        "animal_waste_rule",
    }
)
AIR_LOW_C, AIR_HIGH_C = -60.0, 50.0
"""Monthly mean air temperatures outside these are a slip: no inhabited place has them."""


class UnusableChoice(Refused):
    """A value that a group cannot have; `field` names it."""

    code = "unusable_choice"


@transaction.atomic
def change_group(
    group: Group, changes: Mapping[str, Any], *, now: datetime, actor_uuid: UUID | None = None
) -> Group:
    """Save the named fields; plans made from now on go by them. What was planned stays."""
    unknown = sorted(set(changes) - CHANGEABLE)
    if unknown:
        raise UnusableChoice(
            gettext_noop("A group has no setting called %(name)s."),
            field=unknown[0],
            figures={"name": unknown[0]},
        )
    _check_air(changes.get("air_normals_c", []))
    row = Group.objects.select_for_update(no_key=True).get(pk=group.pk)
    changed = sorted(name for name, value in changes.items() if getattr(row, name) != value)
    for name in changed:
        setattr(row, name, changes[name])
    check_row(row)
    if changed:
        row.save(update_fields=changed)
        record_fact(
            row,
            "group_changed",
            happened_at=now,
            subject_uuid=row.uuid,
            actor_uuid=actor_uuid,
            payload={"fields": changed},
        )
    return row


def _check_air(normals: object) -> None:
    if not isinstance(normals, list) or len(normals) not in (0, 12):
        given = len(normals) if isinstance(normals, list) else 0
        raise UnusableChoice(
            gettext_noop("%(given)s temperatures were given. Give twelve, January first, or none."),
            field="air_normals_c",
            figures={"given": given},
        )
    for value in normals:
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not AIR_LOW_C <= value <= AIR_HIGH_C
        ):
            raise UnusableChoice(
                gettext_noop(
                    "“%(value)s” is not a monthly mean in °C; between %(low)s and %(high)s."
                ),
                field="air_normals_c",
                figures={"value": value, "low": f"{AIR_LOW_C:g}", "high": f"{AIR_HIGH_C:g}"},
            )
