"""Say that a household does not take a material, or takes it again."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.digesters.models import Digester, RefusedMaterial
from apps.feedstock.models import Material
from apps.groups.operations.record_fact import record_fact
from apps.people.models import Member


@transaction.atomic
def refuse_material(
    digester: Digester, material: Material, *, now: datetime, recorded_by: Member | None = None
) -> RefusedMaterial:
    """From the next plan on; refusing twice is refusing once."""
    refused, made = RefusedMaterial.unscoped.get_or_create(
        group=digester.group, digester=digester, material=material
    )
    if made:
        _tell(digester, material, "material_refused", now, recorded_by)
    return refused


@transaction.atomic
def accept_material(
    digester: Digester, material: Material, *, now: datetime, recorded_by: Member | None = None
) -> None:
    """Take the refusal back; the group's own rules still apply."""
    deleted, _rows = (
        RefusedMaterial.objects.of(digester.group)
        .filter(digester=digester, material=material)
        .delete()
    )
    if deleted:
        _tell(digester, material, "material_accepted", now, recorded_by)


def _tell(
    digester: Digester, material: Material, kind: str, now: datetime, by: Member | None
) -> None:
    record_fact(
        digester.group,
        kind,
        happened_at=now,
        subject_uuid=digester.uuid,
        payload={"material": material.code},
        actor_uuid=by.uuid if by else None,
    )
