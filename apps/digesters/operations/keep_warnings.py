"""Raise a digester's warnings once, keep their figures fresh, and clear them on evidence."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from apps.digesters.core.process.digester_view import DigesterView, DigesterWarning, WarningKind
from apps.digesters.core.process.warnings import judge
from apps.digesters.models import Digester, RaisedWarning
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact


def keep_warnings(
    group: Group, views: Mapping[Digester, DigesterView], *, on: date, now: datetime
) -> None:
    """Facts `warning_raised` and `warning_cleared` for what changed."""
    standing: dict[int, dict[WarningKind, RaisedWarning]] = {each.pk: {} for each in views}
    for row in RaisedWarning.objects.of(group).filter(digester__in=list(standing), cleared_on=None):
        standing[row.digester_id][WarningKind(row.kind)] = row
    for digester, view in views.items():
        there = standing[digester.pk]
        changes = judge(view, there)
        for warning in changes.raised:
            row = RaisedWarning(group=group, digester=digester, kind=warning.kind, raised_on=on)
            _fill(row, warning).save()
            _tell("warning_raised", row, now)
        for warning in changes.standing:
            _fill(there[warning.kind], warning).save()
        for kind in changes.cleared:
            row = there[kind]
            row.cleared_on = on
            row.save(update_fields=["cleared_on"])
            _tell("warning_cleared", row, now)


def _fill(row: RaisedWarning, warning: DigesterWarning) -> RaisedWarning:
    row.within_days = warning.within_days
    row.certainty = warning.certainty
    row.evidence = {
        "template": warning.evidence.template,
        "values": dict(warning.evidence.values),
    }
    row.advice = warning.advice.template
    row.cautions = list(warning.cautions)
    return row


def _tell(kind: str, row: RaisedWarning, now: datetime) -> None:
    record_fact(
        row.group,
        kind,
        happened_at=now,
        subject_uuid=row.digester.uuid,
        payload={
            "warning": row.kind,
            "within_days": row.within_days,
            "evidence": row.evidence,
            "advice": row.advice,
            "cautions": row.cautions,
        },
    )
