"""A sheet: one declarative list of columns that reading, writing, templates and help share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.people.models import Member
from apps.reports.exchange.cell_text import neutralise
from apps.reports.exchange.cells import Cell, Choice, Several, Text

Key = tuple[str, ...]
"""What tells two rows of a sheet apart: the shown cells of its key columns."""

Values = dict[str, Any]
"""One row's values by column; None for an empty cell."""


@dataclass(frozen=True, slots=True)
class Column:
    """`refers_to` names the sheet whose codes the cell must be one of; `default` is what an empty
    cell means in a new row."""

    name: str
    cell: Cell
    help: str
    required: bool = False
    refers_to: str = ""
    default: Any = None

    @property
    def options(self) -> tuple[str, ...]:
        """The words that the cell may hold, where there are few."""
        cell = self.cell.of if isinstance(self.cell, Several) else self.cell
        return cell.options if isinstance(cell, Choice) else ()

    def show(self, value: Any) -> str:
        """As written to a file."""
        shown = self.cell.show(value)
        return neutralise(shown) if isinstance(self.cell, Text) else shown


@dataclass(frozen=True, slots=True)
class Row:
    """A row that was understood; `number` counts as the spreadsheet does."""

    number: int
    values: Values


class RowRefused(Exception):
    """A row that could not be written after all."""

    def __init__(self, row: Row, refused: Refused, column: str | None = None) -> None:
        super().__init__(str(refused))
        self.row = row
        self.refused = refused
        self.column = column


@dataclass(frozen=True, slots=True)
class Writing:
    """Who writes, where and when; and rows of the group by sheet and code."""

    group: Group
    now: datetime
    by: Member | None
    _rows: dict[str, dict[str, Any]] = field(default_factory=dict)

    def rows(self, model: type[Any]) -> dict[str, Any]:
        """Every row of a coded table by its code, read once a sheet."""
        name = model._meta.label
        if name not in self._rows:
            self._rows[name] = {row.code: row for row in model.objects.of(self.group)}
        return self._rows[name]


@dataclass(frozen=True, slots=True)
class Sheet:
    """`current(group)` reads what there is, by key; `write` takes rows that are new and rows that
    differ, with every column filled; `check` may refuse a row that differs from what there is."""

    name: str
    title: str
    about: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    current: Callable[[Group], Mapping[Key, Values]]
    write: Callable[[Writing, Sequence[Row], Sequence[Row]], None]
    check: Callable[[Row, Values | None, date], None] | None = None
    most_rows: int = 5_000

    def column(self, name: str) -> Column:
        """The column of that name."""
        return next(column for column in self.columns if column.name == name)

    def key_of(self, values: Values) -> Key:
        """The shown cells of the key columns."""
        return tuple(self.column(name).cell.show(values[name]) for name in self.key)

    def differs(self, one: Values, other: Values, columns: Iterable[str]) -> bool:
        """Whether the two would be written differently."""
        return any(
            self.column(name).cell.show(one[name]) != self.column(name).cell.show(other[name])
            for name in columns
        )

    def defaults(self) -> Values:
        """What empty cells mean in a new row."""
        return {column.name: column.default for column in self.columns}


def refusing(rows: Iterable[Row], write: Callable[[Row], None]) -> None:
    """Write row by row; a refusal names its row."""
    for row in rows:
        try:
            write(row)
        except Refused as refused:
            raise RowRefused(row, refused, refused.field) from refused


def required_columns(sheet: Sheet) -> Iterator[str]:
    """Columns without which a file cannot be read."""
    return (column.name for column in sheet.columns if column.required)
