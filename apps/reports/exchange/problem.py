"""What is wrong with a file: where, what, the figure that mattered, what to do."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from apps.kernel.errors import Refused


class BadCell(Refused):
    """One cell cannot be understood."""

    code = "bad_cell"


class BadFile(Refused):
    """The file as a whole cannot be read."""

    code = "bad_file"


@dataclass(frozen=True, slots=True)
class Problem:
    """`row` counts as the spreadsheet does, the header being row 1; None: the whole sheet."""

    sheet: str
    row: int | None
    column: str | None
    template: str
    figures: Mapping[str, object] = field(default_factory=dict)

    def sentence(self, translate: Callable[[str], str] = str) -> str:
        """What is wrong and what to do, in the reader's language."""
        text = translate(self.template)
        return text % self.figures if self.figures else text

    def __str__(self) -> str:
        where = [self.sheet]
        if self.row is not None:
            where.append(f"row {self.row}")
        if self.column is not None:
            where.append(f"column {self.column}")
        return f"{', '.join(where)}: {self.sentence()}"


def problem_of(sheet: str, row: int | None, column: str | None, refused: Refused) -> Problem:
    """A refusal with its place in the file."""
    return Problem(sheet, row, column, refused.template, refused.figures)
