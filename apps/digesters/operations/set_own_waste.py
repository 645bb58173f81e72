"""Say how much of its own kitchen waste a household feeds on a usual day."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from apps.digesters.models import Digester, OwnWaste
from apps.feedstock.models import Material
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.people.models import Member

MOST_OWN_WASTE_G = 20_000


class UnbelievableOwnWaste(Refused):
    """More than a household has."""

    code = "unbelievable_own_waste"


@transaction.atomic
def set_own_waste(
    digester: Digester,
    material: Material,
    amount_g_per_day: int,
    *,
    now: datetime,
    recorded_by: Member | None = None,
) -> OwnWaste | None:
    """It goes first, before anything a plan brings. Zero: none of this material any more. Another
    amount than before is a fact of its own: what was written down before tells no more of it."""
    if not 0 <= amount_g_per_day <= MOST_OWN_WASTE_G:
        raise UnbelievableOwnWaste(
            _("%(amount)s g of own kitchen waste a day is not believable: 0 to %(most)s g.")
            % {"amount": amount_g_per_day, "most": MOST_OWN_WASTE_G},
            field="amount_g_per_day",
        )
    rows = OwnWaste.objects.of(digester.group).filter(digester=digester, material=material)
    before = rows.first()
    if (before.amount_g_per_day if before else 0) == amount_g_per_day:
        return before
    own: OwnWaste | None = None
    if amount_g_per_day == 0:
        rows.delete()
    else:
        own, _made = OwnWaste.unscoped.update_or_create(
            group=digester.group,
            digester=digester,
            material=material,
            defaults={"amount_g_per_day": amount_g_per_day},
        )
    record_fact(
        digester.group,
        "own_waste_changed" if before else "own_waste_set",
        happened_at=now,
        subject_uuid=digester.uuid,
        payload={"material": material.code, "amount_g_per_day": amount_g_per_day},
        actor_uuid=recorded_by.uuid if recorded_by else None,
    )
    return own
