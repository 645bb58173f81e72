"""What a file would change, and everything that is wrong with it; nothing is written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.reports.exchange.problem import BadFile, Problem, problem_of
from apps.reports.exchange.sheet import Row, Sheet, Values
from apps.reports.exchange.sheets import CODED_MODELS, SHEETS
from apps.reports.exchange.table import Table, read_tables
from apps.reports.exchange.understand import understand

WORKBOOK = "workbook"
"""In place of a sheet's name: an XLSX whose worksheets are named after sheets."""


@dataclass(frozen=True, slots=True)
class SheetChanges:
    """Rows of one sheet, every column filled: not there yet, there but different, the same."""

    sheet: Sheet
    new: tuple[Row, ...]
    changed: tuple[Row, ...]
    same: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would do; `problems` empty: it may be applied."""

    changes: tuple[SheetChanges, ...]
    problems: tuple[Problem, ...]

    @property
    def is_clean(self) -> bool:
        """Whether it may be applied."""
        return not self.problems

    def count(self, kind: str) -> int:
        """Rows that are `new`, `changed` or `same`, over all sheets."""
        return sum(len(getattr(changes, kind)) for changes in self.changes)


class UnknownSheet(Refused):
    """There is no sheet of that name."""

    code = "unknown_sheet"
    status = 404

    def __init__(self, name: str) -> None:
        super().__init__(
            gettext_noop("There is no sheet “%(name)s”. The sheets are: %(known)s."),
            figures={"name": name[:40], "known": ", ".join((*SHEETS, WORKBOOK))},
        )


def preview_import(
    group: Group, sheet_name: str, data: bytes, *, now: datetime, decimal_mark: str = "."
) -> Preview:
    """Read a CSV or XLSX file of one sheet, or a whole workbook. Raises `BadFile`,
    `UnknownSheet`; what is wrong inside the file is listed in the preview."""
    if sheet_name not in SHEETS and sheet_name != WORKBOOK:
        raise UnknownSheet(sheet_name)
    tables = read_tables(data)
    today = local_date(now, group.time_zone)
    if sheet_name != WORKBOOK:
        filled = [table for table in tables if table.header]
        named = [table for table in filled if table.name == sheet_name] or filled[:1]
        if not named:
            raise BadFile(gettext_noop("The file is empty. Start from the blank template."))
        return _preview(group, {sheet_name: named[0]}, [], today, decimal_mark)
    problems = []
    by_sheet: dict[str, Table] = {}
    for table in tables:
        if table.name in SHEETS:
            by_sheet[table.name] = table
        elif table.rows:
            template = gettext_noop("This worksheet is not known. Name it one of: %(known)s.")
            figures = {"known": ", ".join(SHEETS)}
            problems.append(Problem(table.name[:40] or "CSV", None, None, template, figures))
    return _preview(group, by_sheet, problems, today, decimal_mark)


def _preview(
    group: Group,
    tables: dict[str, Table],
    problems: list[Problem],
    today: date,
    decimal_mark: str,
) -> Preview:
    codes: dict[str, set[str]] = {
        name: set(model.objects.of(group).values_list("code", flat=True))
        for name, model in CODED_MODELS.items()
    }
    found: list[SheetChanges] = []
    for name, sheet in SHEETS.items():
        if name not in tables or not tables[name].header:
            continue
        understood = understand(sheet, tables[name], codes, decimal_mark)
        problems += understood.problems
        changes, refused = _compare(group, sheet, understood.rows, understood.columns, today)
        problems += refused
        found.append(changes)
        if name in codes:
            codes[name] |= {row.values["code"] for row in understood.rows}
    return Preview(tuple(found), tuple(problems))


def _compare(
    group: Group, sheet: Sheet, rows: tuple[Row, ...], columns: tuple[str, ...], today: date
) -> tuple[SheetChanges, list[Problem]]:
    current = sheet.current(group) if rows else {}
    sorted_rows: dict[str, list[Row]] = {"new": [], "changed": [], "same": []}
    problems: list[Problem] = []
    for row in rows:
        there = current.get(sheet.key_of(row.values))
        # A column that the file does not have stays as it is.
        kept = {} if there is None else {k: v for k, v in there.items() if k not in columns}
        whole = Row(row.number, row.values | kept)
        kind = _kind(sheet, there, whole.values, columns)
        sorted_rows[kind].append(whole)
        if kind != "same" and sheet.check is not None:
            try:
                sheet.check(whole, there, today)
            except Refused as refused:
                problems.append(problem_of(sheet.name, row.number, refused.field, refused))
    return SheetChanges(sheet, *(tuple(each) for each in sorted_rows.values())), problems


def _kind(sheet: Sheet, there: Values | None, values: Values, columns: tuple[str, ...]) -> str:
    if there is None:
        return "new"
    return "changed" if sheet.differs(there, values, columns) else "same"


def lines(preview: Preview) -> Iterator[str]:
    """The preview as plain English lines, for commands."""
    for changes in preview.changes:
        yield (
            f"{changes.sheet.name}: {len(changes.new)} new, {len(changes.changed)} changed, "
            f"{len(changes.same)} the same"
        )
    yield from (str(problem) for problem in preview.problems)
