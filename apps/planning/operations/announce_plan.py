"""Announce a draft, whole or not at all."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string
from django.utils.translation import gettext as _

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Conflict
from apps.people.models import Member
from apps.planning.core.canonical import hash_problem
from apps.planning.core.read_document import fields_unknown_to, problem_of
from apps.planning.models import Plan, PlanStatus
from apps.planning.queries.build_problem import build_problem
from apps.planning.queries.changed_inputs import changed_inputs
from apps.planning.queries.started import started_pickups
from apps.planning.verifier.verify import verify


class NotADraft(Conflict):
    """It was announced or superseded before."""

    code = "not_a_draft"


class StaleDraft(Conflict):
    """What the draft was made from has changed since."""

    code = "stale_draft"


class UnsoundPlan(Conflict):
    """The independent verifier found a broken rule; nothing is announced."""

    code = "unsound_plan"


def announce_plan(plan: Plan, *, now: datetime, announced_by: Member | None = None) -> Plan:
    """Everybody is to act on `plan` from now on; the plan announced before is superseded.

    Announcing is one at a time in a group: whoever comes second finds the inputs changed.
    """
    with transaction.atomic():
        group = Group.objects.select_for_update(no_key=True).get(pk=plan.group_id)
        draft: Plan = Plan.objects.of(group).get(pk=plan.pk)
        if draft.status != PlanStatus.DRAFT:
            raise NotADraft(
                _("Plan %(version)s is %(status)s already. Look at the plan as it is now.")
                % {"version": draft.version, "status": draft.get_status_display()},
                figures={"version": draft.version, "status": draft.status},
            )
        _check_fresh(group, draft, now)
        _check_sound(draft)
        Plan.objects.of(group).filter(status=PlanStatus.ANNOUNCED).update(
            status=PlanStatus.SUPERSEDED
        )
        draft.status = PlanStatus.ANNOUNCED
        draft.announced_at = now
        draft.announced_by = announced_by
        draft.save(update_fields=["status", "announced_at", "announced_by"])
        for name in settings.AFTER_ANNOUNCING:
            import_string(name)(draft, now=now)
        record_fact(
            group,
            "plan_announced",
            happened_at=now,
            subject_uuid=draft.uuid,
            payload={"version": draft.version, "starts_on": draft.starts_on.isoformat()},
            actor_uuid=announced_by.uuid if announced_by else None,
        )
    return draft


def _check_fresh(group: Group, draft: Plan, now: datetime) -> None:
    today = local_date(now, group.time_zone)
    if draft.starts_on < today:
        raise StaleDraft(
            _("Plan %(version)s starts on %(starts)s, which is over. Make a new plan.")
            % {"version": draft.version, "starts": draft.starts_on},
            figures={"version": draft.version, "starts_on": draft.starts_on.isoformat()},
        )
    made_from = problem_of(draft.document)
    current = build_problem(
        group,
        draft.starts_on,
        draft.days,
        as_of=today,
        change_budget=made_from.rules.change_budget,
        started=started_pickups(group, draft.starts_on, draft.days),
        at=draft.made_at,
    ).problem
    if hash_problem(current, without=fields_unknown_to(draft.document)) != draft.input_hash:
        changes = changed_inputs(made_from, current)
        raise StaleDraft(
            _("Plan %(version)s was made from other figures: %(changes)s Make the plan again.")
            % {"version": draft.version, "changes": " ".join(changes)},
            figures={"version": draft.version, "changes": changes},
        )


def _check_sound(draft: Plan) -> None:
    violations = verify(draft.document)
    if violations:
        raise UnsoundPlan(
            _("Plan %(version)s breaks %(count)s rule(s), the first: %(first)s Make it again.")
            % {
                "version": draft.version,
                "count": len(violations),
                "first": violations[0].sentence,
            },
            figures={"violations": [violation.sentence for violation in violations]},
        )
