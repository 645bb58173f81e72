"""A file's cells as text, read with limits on everything before anything is unpacked."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

import openpyxl
from openpyxl.utils.exceptions import InvalidFileException

from apps.kernel.words import gettext_noop
from apps.reports.exchange.problem import BadFile

MOST_PACKED_BYTES = 2_000_000
MOST_UNPACKED_BYTES = 20_000_000
MOST_MEMBERS = 100
MOST_ROWS = 5_000
MOST_COLUMNS = 100
"""Limits on a file, well above a neighbourhood's and well below what could stop the service."""

MOST_CELLS_WIDE = 1_000
MOST_CELLS_DEEP = 20_000
"""Empty cells may reach so far; a single one at the far end of a sheet would cost minutes."""

MOST_CELL_CHARACTERS = 20_000
COMMENT = "#"
"""A row whose first cell starts with it is help, and skipped."""

EXCEL_DIGITS = 15
"""Significant digits that a spreadsheet keeps of a number."""


@dataclass(frozen=True, slots=True)
class RawCell:
    """A cell's text; a number typed as one in a workbook always has a dot; formulas are marked."""

    text: str
    is_number: bool = False
    is_formula: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet as found: its name in the file, its header and its rows with their numbers."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[RawCell, ...]], ...]


def read_tables(data: bytes) -> list[Table]:
    """One unnamed table of a CSV, or every worksheet of an XLSX. Raises `BadFile`."""
    if len(data) > MOST_PACKED_BYTES:
        raise BadFile(
            gettext_noop(
                "The file has %(size)s kB; at most %(most)s kB are read. Split it into parts."
            ),
            figures={"size": len(data) // 1000, "most": MOST_PACKED_BYTES // 1000},
        )
    if data.startswith(b"PK"):
        return _read_workbook(data)
    return [_table("", _csv_rows(data))]


def _csv_rows(data: bytes) -> Iterator[Sequence[RawCell]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadFile(
            gettext_noop(
                "Byte %(position)s of the file is not UTF-8. "
                "Save it again as “CSV UTF-8”, or send the workbook itself."
            ),
            figures={"position": error.start + 1},
        ) from error
    if "\x00" in text:
        raise BadFile(
            gettext_noop(
                "The file holds NUL characters, so it is not plain CSV. Save it as “CSV UTF-8”."
            )
        )
    header = text.split("\n", maxsplit=1)[0]
    delimiter = max(",;\t", key=header.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for row in reader:
            yield [RawCell(cell.strip(), is_formula=cell.startswith("=")) for cell in row]
    except csv.Error as error:
        raise BadFile(
            gettext_noop(
                "Line %(line)s cannot be read as CSV. "
                "Look for a quotation mark that is not closed, and save the file again."
            ),
            figures={"line": reader.line_num},
        ) from error


def _read_workbook(data: bytes) -> list[Table]:
    _check_package(data)
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
        return [
            _table(sheet.title, _sheet_rows(sheet))
            for sheet in book.worksheets
            if sheet.sheet_state == "visible"
        ]
    except BadFile:
        raise
    except (InvalidFileException, zipfile.BadZipFile) as error:
        raise _unreadable() from error
    except Exception as error:
        # A damaged workbook fails in as many ways as there are bytes; none of them is ours.
        raise _unreadable() from error


def _unreadable() -> BadFile:
    return BadFile(
        gettext_noop("The workbook cannot be read. Open it, save it as .xlsx and send it again.")
    )


def _check_package(data: bytes) -> None:
    """Sizes from the directory first; then no macros and no document types, hence no entities."""
    try:
        package = zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, ValueError, NotImplementedError) as error:
        raise _unreadable() from error
    members = package.infolist()
    unpacked = sum(member.file_size for member in members)
    if len(members) > MOST_MEMBERS or unpacked > MOST_UNPACKED_BYTES:
        raise BadFile(
            gettext_noop(
                "Unpacked, the workbook has %(members)s parts and %(size)s kB; at most %(parts)s "
                "parts and %(most)s kB are read. Copy the rows into an empty template."
            ),
            figures={
                "members": len(members),
                "size": unpacked // 1000,
                "parts": MOST_MEMBERS,
                "most": MOST_UNPACKED_BYTES // 1000,
            },
        )
    for member in members:
        if "vbaproject" in member.filename.lower():
            raise BadFile(
                gettext_noop("The workbook holds macros. Save it as .xlsx, without them.")
            )
        if member.filename.endswith((".xml", ".rels")):
            try:
                content = package.read(member)
            except Exception as error:  # a wrong checksum, a lie about the size, encryption
                raise _unreadable() from error
            # A NUL would be UTF-16, in which the two words could hide.
            if b"<!DOCTYPE" in content or b"<!ENTITY" in content or b"\x00" in content:
                raise _unreadable()


def _sheet_rows(sheet: Any) -> Iterator[Sequence[RawCell]]:
    sheet.reset_dimensions()
    for number, row in enumerate(sheet.iter_rows(), start=1):
        if len(row) > MOST_CELLS_WIDE or number > MOST_CELLS_DEEP:
            raise BadFile(
                gettext_noop(
                    "Something lies far outside the table, near row %(row)s and column %(column)s. "
                    "Delete the rows below and the columns right of your data."
                ),
                figures={"row": number, "column": len(row)},
            )
        yield [_raw(cell) for cell in row]


def _raw(cell: Any) -> RawCell:
    value = cell.value
    if cell.data_type in {"f", "e"}:
        return RawCell(str(value), is_formula=True)
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return RawCell(_text(value), is_number=is_number)


def _text(value: object) -> str:
    match value:
        case None:
            text = ""
        case bool():
            text = "yes" if value else "no"
        case float():
            text = f"{Decimal(f'{value:.{EXCEL_DIGITS}g}'):f}"
        case datetime() if value.time() == time():
            text = value.date().isoformat()
        case date() | datetime():
            text = value.isoformat()
        case _:
            text = str(value).strip()
    return text


def _table(name: str, rows: Iterator[Sequence[RawCell]]) -> Table:
    header: tuple[str, ...] = ()
    kept: list[tuple[int, tuple[RawCell, ...]]] = []
    for number, row in enumerate(rows, start=1):
        cells = list(row)
        while cells and not cells[-1].text:
            cells.pop()
        if len(cells) > MOST_COLUMNS:
            raise BadFile(
                gettext_noop(
                    "Row %(row)s has more than %(most)s columns. Remove what lies right of the "
                    "columns of the template."
                ),
                figures={"row": number, "most": MOST_COLUMNS},
            )
        for cell in cells:
            if len(cell.text) > MOST_CELL_CHARACTERS:
                raise BadFile(
                    gettext_noop(
                        "A cell of row %(row)s has %(length)s characters; %(most)s are read."
                    ),
                    figures={
                        "row": number,
                        "length": len(cell.text),
                        "most": MOST_CELL_CHARACTERS,
                    },
                )
        if number == 1:
            header = tuple(cell.text.lower() for cell in cells)
        elif cells and not cells[0].text.startswith(COMMENT):
            kept.append((number, tuple(cells)))
        if len(kept) > MOST_ROWS:
            raise BadFile(
                gettext_noop("There are more than %(most)s rows. Split the file into parts."),
                figures={"most": MOST_ROWS},
            )
    return Table(name, header, tuple(kept))
