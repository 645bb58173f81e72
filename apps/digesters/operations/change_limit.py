"""Give one digester its own value for a limit: tighter at once, looser with a second person."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from apps.digesters.core.facts import QUANTITIES
from apps.digesters.core.limit_names import LIMIT_NAMES
from apps.digesters.models import Digester, LimitChange
from apps.digesters.queries.day_facts import own_caps, own_rules
from apps.digesters.queries.records import published_rules, read_records
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Conflict, Refused
from apps.people.models import Member


class LimitRefused(Refused):
    """The limit is unknown, the value goes the wrong way or too far, or it has no reason."""

    code = "limit_refused"


class SecondPersonNeeded(Refused):
    """A loosening counts only when somebody else confirms it."""

    code = "second_person_needed"


class AlreadyConfirmed(Conflict):
    """Somebody confirmed it before."""

    code = "already_confirmed"


@transaction.atomic
def tighten_limit(
    digester: Digester,
    limit_id: str,
    value: Decimal,
    *,
    reason: str,
    asked_by: Member,
    now: datetime,
) -> LimitChange:
    """Hold the digester lower, from now on. `limit_id` is a rule's id, or `feed_g`, `vs_g` or
    `slurry_ml` for a daily cap of its own."""
    if _is_looser(digester, limit_id, value, now):
        raise LimitRefused(
            _("%(value)s for %(limit)s is looser than what counts now; ask to loosen it instead.")
            % {"value": value, "limit": _name(limit_id)},
            field="value",
        )
    return _write(digester, limit_id, value, reason, asked_by, now, loosens=False)


@transaction.atomic
def loosen_limit(
    digester: Digester,
    limit_id: str,
    value: Decimal,
    *,
    reason: str,
    asked_by: Member,
    now: datetime,
) -> LimitChange:
    """Ask for a looser value; nothing changes until `confirm_loosening`."""
    if not _is_looser(digester, limit_id, value, now):
        raise LimitRefused(
            _("%(value)s for %(limit)s is not looser than what counts now; tighten it instead.")
            % {"value": value, "limit": _name(limit_id)},
            field="value",
        )
    return _write(digester, limit_id, value, reason, asked_by, now, loosens=True)


@transaction.atomic
def confirm_loosening(change: LimitChange, *, confirmed_by: Member, now: datetime) -> LimitChange:
    """Let the looser value count. It takes somebody other than who asked."""
    if confirmed_by.pk == change.asked_by_id:
        raise SecondPersonNeeded(
            _("%(name)s asked for this. A second person must read it and confirm.")
            % {"name": confirmed_by.name}
        )
    changed = (
        LimitChange.objects.of(change.group)
        .filter(pk=change.pk, loosens=True, confirmed_at=None, ended_at=None)
        .update(confirmed_at=now, confirmed_by=confirmed_by)
    )
    if not changed:
        raise AlreadyConfirmed(_("This was settled before. Look at the limits as they are now."))
    change.refresh_from_db()
    _tell(change, "limit_loosened", now, confirmed_by)
    return change


@transaction.atomic
def withdraw_loosening(change: LimitChange, *, withdrawn_by: Member, now: datetime) -> LimitChange:
    """Take back what waits for a second person; anybody who may ask may do it, and it stays
    written down. Nothing that counts changes."""
    changed = (
        LimitChange.objects.of(change.group)
        .filter(pk=change.pk, loosens=True, confirmed_at=None, ended_at=None)
        .update(ended_at=now)
    )
    if not changed:
        raise AlreadyConfirmed(_("This was settled before. Look at the limits as they are now."))
    change.refresh_from_db()
    _tell(change, "limit_loosening_withdrawn", now, withdrawn_by)
    return change


def _is_looser(digester: Digester, limit_id: str, value: Decimal, now: datetime) -> bool:
    records = read_records(digester.group, local_date(now, digester.group.time_zone))
    own = records.digesters[digester.code]
    if limit_id in QUANTITIES:
        if value != value.to_integral_value() or value < 0:
            raise LimitRefused(
                _("%(value)s is not a whole amount; give grams or millilitres, 0 or more.")
                % {"value": value},
                field="value",
            )
        now_counts = own_caps(own).get(limit_id)
        return now_counts is not None and value > now_counts.value
    if limit_id not in records.rules.rules:
        raise LimitRefused(
            _("There is no limit called %(limit)s. Choose one from the digester's page.")
            % {"limit": limit_id},
            field="limit_id",
        )
    rule = published_rules()[limit_id]
    if not value.is_finite() or rule.is_looser(float(value), rule.loosest):
        raise LimitRefused(
            _("Nobody may set %(limit)s beyond %(loosest)s %(unit)s; %(value)s was asked for.")
            % {
                "limit": _name(limit_id),
                "loosest": f"{rule.loosest:g}",
                "unit": rule.unit,
                "value": value,
            },
            field="value",
            figures={"loosest": rule.loosest},
        )
    current = own_rules(own, records.rules)[limit_id]
    return current.is_looser(float(value), current.value)


def _name(limit_id: str) -> str:
    """Quoted as people know it."""
    return f"“{_(LIMIT_NAMES.get(limit_id, limit_id))}”"


def _write(
    digester: Digester,
    limit_id: str,
    value: Decimal,
    reason: str,
    asked_by: Member,
    now: datetime,
    *,
    loosens: bool,
) -> LimitChange:
    if not reason.strip():
        raise LimitRefused(
            _("Say why this digester is held differently; people will read it."), field="reason"
        )
    change = LimitChange(
        group=digester.group,
        digester=digester,
        limit_id=limit_id,
        value=value,
        reason=reason.strip(),
        asked_at=now,
        asked_by=asked_by,
        loosens=loosens,
    )
    change.full_clean()
    change.save()
    _tell(change, "limit_loosening_asked" if loosens else "limit_tightened", now, asked_by)
    return change


def _tell(change: LimitChange, kind: str, now: datetime, actor: Member) -> None:
    record_fact(
        change.group,
        kind,
        happened_at=now,
        subject_uuid=change.digester.uuid,
        payload={"limit": change.limit_id, "value": str(change.value), "reason": change.reason},
        actor_uuid=actor.uuid,
    )
