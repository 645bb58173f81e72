"""From a file's cells to values: every cell is read, every problem is listed with its place."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cell_text import denature, refuse_formula, shorten
from apps.reports.exchange.cells import AmountsOf, Several, Text
from apps.reports.exchange.problem import BadCell, Problem, problem_of
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, required_columns
from apps.reports.exchange.table import RawCell, Table

Codes = Mapping[str, Collection[str]]
"""Known codes by sheet name."""


@dataclass(frozen=True, slots=True)
class Understood:
    """Rows without problems, the columns that the file has, and everything wrong with it."""

    rows: tuple[Row, ...]
    columns: tuple[str, ...]
    problems: tuple[Problem, ...]


def understand(sheet: Sheet, table: Table, codes: Codes, decimal_mark: str) -> Understood:
    """Read a table as rows of `sheet`; a row with a problem is left out of `rows`."""
    problems = _header_problems(sheet, table)
    if not table.rows and not problems:
        return Understood((), table.header, ())
    if problems:
        return Understood((), table.header, tuple(problems))
    if len(table.rows) > sheet.most_rows:
        problems.append(
            Problem(
                sheet.name,
                None,
                None,
                gettext_noop("There are %(rows)s rows; at most %(most)s are read of this kind."),
                {"rows": len(table.rows), "most": sheet.most_rows},
            )
        )
        return Understood((), table.header, tuple(problems))
    rows: list[Row] = []
    seen: dict[Key, int] = {}
    for number, cells in table.rows:
        row, found = _read_row(sheet, table.header, number, cells, codes, decimal_mark)
        problems += found
        if found:
            continue
        key = sheet.key_of(row.values)
        if key in seen:
            problems.append(
                Problem(
                    sheet.name,
                    number,
                    sheet.key[0],
                    gettext_noop("%(key)s is in row %(first)s already. Keep one of the two rows."),
                    {"key": ", ".join(part for part in key if part), "first": seen[key]},
                )
            )
            continue
        seen[key] = number
        rows.append(row)
    return Understood(tuple(rows), table.header, tuple(problems))


def _header_problems(sheet: Sheet, table: Table) -> list[Problem]:
    names = [column.name for column in sheet.columns]
    problems = []
    for name in dict.fromkeys(table.header):
        if table.header.count(name) > 1:
            template = gettext_noop("The column %(name)s is there twice. Remove one of the two.")
        elif name not in names:
            template = gettext_noop(
                "The column %(name)s is not known. The columns are: %(known)s. Rename or remove it."
            )
        else:
            continue
        figures = {"name": shorten(name) or "“”", "known": ", ".join(names)}
        problems.append(Problem(sheet.name, 1, shorten(name), template, figures))
    for name in required_columns(sheet):
        if name not in table.header:
            problems.append(
                Problem(
                    sheet.name,
                    1,
                    name,
                    gettext_noop("The column %(name)s is missing. Add it: %(help)s"),
                    {"name": name, "help": sheet.column(name).help},
                )
            )
    return problems


def _read_row(
    sheet: Sheet,
    header: tuple[str, ...],
    number: int,
    cells: tuple[RawCell, ...],
    codes: Codes,
    decimal_mark: str,
) -> tuple[Row, list[Problem]]:
    problems: list[Problem] = []
    values = sheet.defaults()
    if len(cells) > len(header):
        template = gettext_noop(
            "The row has %(cells)s cells, the header %(columns)s. "
            "A comma inside a cell needs quotation marks around it."
        )
        figures = {"cells": len(cells), "columns": len(header)}
        return Row(number, values), [Problem(sheet.name, number, None, template, figures)]
    for name, raw in zip(header, (*cells, *[RawCell("")] * len(header)), strict=False):
        column = sheet.column(name)
        try:
            values[name] = _read_cell(column, raw, codes, decimal_mark)
        except Refused as refused:
            problems.append(problem_of(sheet.name, number, name, refused))
    return Row(number, values), problems


def _read_cell(column: Column, raw: RawCell, codes: Codes, decimal_mark: str) -> object:
    if raw.is_formula:
        refuse_formula(raw.text)
    text = denature(raw.text) if isinstance(column.cell, Text) else raw.text
    if not text:
        if column.required:
            raise BadCell(
                gettext_noop("The cell is empty. Fill it: %(help)s"),
                figures={"help": column.help},
            )
        return column.default
    value = column.cell.parse(text, "." if raw.is_number else decimal_mark)
    if column.refers_to:
        named = value if isinstance(column.cell, Several | AmountsOf) else (value,)
        for code in named:
            if code not in codes.get(column.refers_to, ()):
                raise BadCell(
                    gettext_noop(
                        "“%(code)s” is not among this group's %(sheet)s. "
                        "Add it there first, or correct the code."
                    ),
                    figures={"code": shorten(code), "sheet": column.refers_to},
                )
    return value
