"""Kinds of cell: how each is read strictly from text, and shown again in the one same way.

`parse(show(value)) == value` for every value, so that an export can be imported unchanged.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Any, Protocol

from apps.kernel.quantities import in_thousands
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cell_text import BIDI_CONTROLS, plain, shorten
from apps.reports.exchange.number_cells import Thousandths
from apps.reports.exchange.problem import BadCell


class Cell(Protocol):
    """How one column's cells are read and shown. `parse` raises `Refused`."""

    def parse(self, text: str, decimal_mark: str) -> Any:
        """The value of a cell that is not empty."""

    def show(self, value: Any) -> str:
        """The one way to write the value; empty for None."""


@dataclass(frozen=True, slots=True)
class Text:
    """Free text of at most `most` characters, on one line."""

    most: int

    def parse(self, text: str, decimal_mark: str) -> str:
        """As typed, spaces at the ends taken off."""
        if len(text) > self.most:
            raise BadCell(
                gettext_noop("The text has %(length)s characters; shorten it to %(most)s."),
                figures={"length": len(text), "most": self.most},
            )
        for character in text:
            if unicodedata.category(character) in {"Cc", "Cs"} or character in BIDI_CONTROLS:
                raise BadCell(
                    gettext_noop(
                        "The text holds an invisible character (U+%(number)s). Type it again."
                    ),
                    figures={"number": f"{ord(character):04X}"},
                )
        return text

    def show(self, value: str | None) -> str:
        """On one line."""
        return plain(value or "")


@dataclass(frozen=True, slots=True)
class Code:
    """A short code: letters, digits, hyphen and underscore; `refers_to` names another sheet."""

    refers_to: str = ""

    def parse(self, text: str, decimal_mark: str) -> str:
        """The code."""
        if not re.fullmatch(r"[A-Za-z0-9_-]{1,40}", text, flags=re.ASCII):
            raise BadCell(
                gettext_noop(
                    "“%(given)s” is not a code. "
                    "Use at most 40 letters, digits, hyphens and underscores."
                ),
                figures={"given": shorten(text)},
            )
        return text

    def show(self, value: str | None) -> str:
        """As it is."""
        return value or ""


@dataclass(frozen=True, slots=True)
class YesNo:
    """Yes or no."""

    def parse(self, text: str, decimal_mark: str) -> bool:
        """Whether it is yes."""
        if text.lower() not in {"yes", "no"}:
            raise BadCell(
                gettext_noop("“%(given)s” is neither yes nor no. Write yes or no."),
                figures={"given": shorten(text)},
            )
        return text.lower() == "yes"

    def show(self, value: bool | None) -> str:
        """yes or no."""
        return "" if value is None else "yes" if value else "no"


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words."""

    options: tuple[str, ...]

    def parse(self, text: str, decimal_mark: str) -> str:
        """The word."""
        if text not in self.options:
            raise BadCell(
                gettext_noop("“%(given)s” is not known here. Use one of: %(options)s."),
                figures={"given": shorten(text), "options": ", ".join(self.options)},
            )
        return text

    def show(self, value: str | None) -> str:
        """As it is."""
        return str(value or "")


@dataclass(frozen=True, slots=True)
class Day:
    """A date, year first: 2026-05-31."""

    def parse(self, text: str, decimal_mark: str) -> date:
        """The date."""
        try:
            if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text, flags=re.ASCII):
                raise ValueError
            day = date.fromisoformat(text)
        except ValueError:
            raise BadCell(
                gettext_noop("“%(given)s” is not a date. Write year-month-day, like 2026-05-31."),
                figures={"given": shorten(text)},
            ) from None
        if not 2000 <= day.year <= 2100:
            raise BadCell(
                gettext_noop("The year %(given)s is too far away: 2000 to 2100."),
                figures={"given": day.year},
            )
        return day

    def show(self, value: date | None) -> str:
        """Year first."""
        return "" if value is None else value.isoformat()


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day, hours and minutes: 18:30."""

    def parse(self, text: str, decimal_mark: str) -> time:
        """The time."""
        if not re.fullmatch(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]", text, flags=re.ASCII):
            raise BadCell(
                gettext_noop(
                    "“%(given)s” is not a time of day. Write hours and minutes, like 18:30."
                ),
                figures={"given": shorten(text)},
            )
        return time.fromisoformat(text)

    def show(self, value: time | None) -> str:
        """Hours and minutes."""
        return "" if value is None else f"{value:%H:%M}"


@dataclass(frozen=True, slots=True)
class Several:
    """Cells of one kind, a semicolon between; order and repeats do not matter."""

    of: Cell

    def parse(self, text: str, decimal_mark: str) -> tuple[Any, ...]:
        """Sorted, each once."""
        parts = [part.strip() for part in text.split(";")]
        return tuple(sorted({self.of.parse(part, decimal_mark) for part in parts if part}))

    def show(self, value: Sequence[Any] | None) -> str:
        """Sorted, each once."""
        return "; ".join(self.of.show(each) for each in sorted(set(value or ())))


@dataclass(frozen=True, slots=True)
class AmountsOf:
    """Materials with kilograms: `household_kitchen 0.5; bread 0.2`."""

    most_g: int

    def parse(self, text: str, decimal_mark: str) -> Mapping[str, int]:
        """Grams by material code."""
        amounts: dict[str, int] = {}
        for part in (part.strip() for part in text.split(";")):
            words = part.split()
            if not part:
                continue
            if len(words) != 2:
                raise BadCell(
                    gettext_noop(
                        "“%(given)s” is not a material with its kilograms. "
                        "Write the code, a space and the kilograms, like bread 0.2."
                    ),
                    figures={"given": shorten(part)},
                )
            code = Code().parse(words[0], decimal_mark)
            if code in amounts:
                raise BadCell(
                    gettext_noop("%(code)s is named twice. Add the two amounts up."),
                    figures={"code": code},
                )
            kilograms = Thousandths("kg", least=1, most=self.most_g)
            amounts[code] = kilograms.parse(words[1], decimal_mark)
        return amounts

    def show(self, value: Mapping[str, int] | None) -> str:
        """By code."""
        return "; ".join(
            f"{code} {in_thousands(amount_g)}" for code, amount_g in sorted((value or {}).items())
        )
