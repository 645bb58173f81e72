"""Write what a file says: all of it or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.reports.exchange.preview_import import Preview, preview_import
from apps.reports.exchange.problem import Problem, problem_of
from apps.reports.exchange.sheet import RowRefused, Writing


class ImportRefused(Refused):
    """Something in the file is wrong, so nothing of it was written; `problems` lists it all."""

    code = "import_refused"

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(
            gettext_noop(
                "Nothing was imported: the file has %(problems)s problems. "
                "Correct them and send it again."
            ),
            figures={"problems": len(problems), "first": str(problems[0])},
        )
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Applied:
    """How many rows were added and changed, and how many were as they were."""

    added: int
    changed: int
    same: int


@transaction.atomic
def apply_import(
    group: Group,
    sheet_name: str,
    data: bytes,
    *,
    now: datetime,
    by: Member | None = None,
    decimal_mark: str = ".",
) -> Applied:
    """Check the file again, the group being locked against other imports, and write it. Raises
    `BadFile`, `UnknownSheet`, `ImportRefused`; a file that changes nothing writes nothing."""
    Group.objects.select_for_update(no_key=True).get(pk=group.pk)
    preview = preview_import(group, sheet_name, data, now=now, decimal_mark=decimal_mark)
    if not preview.is_clean:
        raise ImportRefused(preview.problems)
    for changes in preview.changes:
        if changes.new or changes.changed:
            try:
                changes.sheet.write(Writing(group, now, by), changes.new, changes.changed)
            except RowRefused as error:
                found = problem_of(
                    changes.sheet.name, error.row.number, error.column, error.refused
                )
                raise ImportRefused((found,)) from error
    return _tell(group, preview, now, by)


def _tell(group: Group, preview: Preview, now: datetime, by: Member | None) -> Applied:
    applied = Applied(preview.count("new"), preview.count("changed"), preview.count("same"))
    if applied.added or applied.changed:
        record_fact(
            group,
            "data_imported",
            happened_at=now,
            actor_uuid=by.uuid if by else None,
            payload={
                changes.sheet.name: {"new": len(changes.new), "changed": len(changes.changed)}
                for changes in preview.changes
            },
        )
    return applied
