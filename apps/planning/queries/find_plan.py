"""Which plan is meant."""

from __future__ import annotations

from django.utils.translation import gettext as _

from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.planning.models import Plan, PlanStatus


class NoPlan(Refused):
    """There is no such plan."""

    code = "no_plan"
    status = 404


def announced_plan(group: Group) -> Plan | None:
    """The plan that everybody acts on."""
    plan: Plan | None = Plan.objects.of(group).filter(status=PlanStatus.ANNOUNCED).first()
    return plan


def latest_draft(group: Group) -> Plan | None:
    """The newest draft that is newer than the announced plan."""
    draft: Plan | None = Plan.objects.of(group).filter(status=PlanStatus.DRAFT).first()
    announced = announced_plan(group)
    if draft is None or (announced is not None and announced.version > draft.version):
        return None
    return draft


def find_plan(group: Group, version: int | None = None) -> Plan:
    """The plan of that version; without one, the newest draft, else the announced plan."""
    if version is None:
        plan = latest_draft(group) or announced_plan(group)
        if plan is None:
            raise NoPlan(
                _("%(group)s has no plan yet. Make one first.") % {"group": group.name},
            )
        return plan
    found: Plan | None = Plan.objects.of(group).filter(version=version).first()
    if found is None:
        raise NoPlan(
            _("%(group)s has no plan %(version)s.") % {"group": group.name, "version": version},
            figures={"version": version},
        )
    return found
