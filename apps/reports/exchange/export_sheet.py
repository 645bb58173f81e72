"""What a group has, in the form in which it can be imported; and the same form left blank."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Sequence

import openpyxl
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.reports.exchange.preview_import import WORKBOOK, UnknownSheet
from apps.reports.exchange.sheet import Sheet
from apps.reports.exchange.sheets import SHEETS
from apps.reports.exchange.table import COMMENT

FORMATS = ("csv", "xlsx")
MAY_BE_EMPTY = gettext_noop("may be empty")

Rows = Iterable[Sequence[str]]


def export_sheet(group: Group, sheet_name: str, file_format: str) -> bytes:
    """The rows of one sheet, by key, as CSV (UTF-8 with its mark) or XLSX; the name `workbook`
    gives every sheet in one XLSX."""
    return _write(sheet_name, file_format, lambda sheet: _rows(group, sheet))


def blank_template(
    sheet_name: str, file_format: str, translate: Callable[[str], str] = str
) -> bytes:
    """The header and one row of help, which an import skips."""
    return _write(sheet_name, file_format, lambda sheet: [_help(sheet, translate)])


def _write(sheet_name: str, file_format: str, rows: Callable[[Sheet], Rows]) -> bytes:
    if sheet_name == WORKBOOK:
        return _workbook([(sheet, rows(sheet)) for sheet in SHEETS.values()])
    if sheet_name not in SHEETS or file_format not in FORMATS:
        raise UnknownSheet(f"{sheet_name}.{file_format}")
    sheet = SHEETS[sheet_name]
    return (_csv if file_format == "csv" else _one)(sheet, rows(sheet))


def _rows(group: Group, sheet: Sheet) -> Rows:
    for _key, values in sorted(sheet.current(group).items()):
        yield [column.show(values[column.name]) for column in sheet.columns]


def _help(sheet: Sheet, translate: Callable[[str], str]) -> list[str]:
    texts = []
    for column in sheet.columns:
        text = translate(column.help)
        if column.options:
            text += f" [{', '.join(column.options)}]"
        if not column.required:
            text += f" ({translate(MAY_BE_EMPTY)})"
        texts.append(text)
    return [f"{COMMENT} {texts[0]}", *texts[1:]]


def _csv(sheet: Sheet, rows: Rows) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(column.name for column in sheet.columns)
    writer.writerows(rows)
    return text.getvalue().encode("utf-8-sig")


def _one(sheet: Sheet, rows: Rows) -> bytes:
    return _workbook([(sheet, rows)])


def _workbook(sheets: Sequence[tuple[Sheet, Rows]]) -> bytes:
    """Every cell is text: a spreadsheet neither rounds it nor takes it for a formula."""
    book = openpyxl.Workbook(write_only=True)
    for sheet, rows in sheets:
        page = book.create_sheet(sheet.name)
        page.freeze_panes = "A2"
        heads = []
        for column in sheet.columns:
            head = WriteOnlyCell(page, column.name)
            head.font = Font(bold=True)
            heads.append(head)
        page.append(heads)
        for row in rows:
            cells = []
            for text in row:
                cell = WriteOnlyCell(page, text or None)
                if text:
                    cell.data_type = "s"
                cells.append(cell)
            page.append(cells)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()
