"""Kinds of cell that hold a figure: exact, within its bounds, in one way of writing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from apps.kernel.quantities import MAX_FACT, in_thousands, parse_thousandths
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cell_text import shorten
from apps.reports.exchange.problem import BadCell


@dataclass(frozen=True, slots=True)
class Thousandths:
    """Kilograms kept as grams, litres as millilitres: at most three decimals."""

    unit: str
    least: int = 0
    most: int = MAX_FACT

    def parse(self, text: str, decimal_mark: str) -> int:
        """Whole grams or millilitres."""
        amount = _parse_large(text, self.unit, decimal_mark)
        if not self.least <= amount <= self.most:
            raise BadCell(
                gettext_noop(
                    "%(given)s %(unit)s is outside what this can be: "
                    "at least %(least)s and at most %(most)s %(unit)s."
                ),
                figures={
                    "given": in_thousands(amount),
                    "unit": self.unit,
                    "least": in_thousands(self.least),
                    "most": in_thousands(self.most),
                },
            )
        return amount

    def show(self, value: int | None) -> str:
        """Plain digits with a dot."""
        return "" if value is None else in_thousands(value)


def _parse_large(text: str, unit: str, decimal_mark: str) -> int:
    """As `parse_thousandths`, but tanks may hold more than a fact can."""
    digits = text.split(decimal_mark, maxsplit=1)[0]
    if len(digits) <= 7 and digits.isascii() and digits.isdigit() and int(digits) > 1999:
        rest = parse_thousandths(
            "0" + text[len(digits) :], unit=unit, decimal_mark=decimal_mark, least=0
        )
        return int(digits) * 1000 + rest
    return parse_thousandths(text, unit=unit, decimal_mark=decimal_mark, least=0)


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number."""

    least: int
    most: int

    def parse(self, text: str, decimal_mark: str) -> int:
        """The number."""
        if not re.fullmatch(r"[0-9]{1,9}", text, flags=re.ASCII):
            raise BadCell(
                gettext_noop("“%(given)s” is not a whole number. Write digits only, like 3."),
                figures={"given": shorten(text)},
            )
        number = int(text)
        if not self.least <= number <= self.most:
            raise BadCell(
                gettext_noop("%(given)s is outside what this can be: %(least)s to %(most)s."),
                figures={"given": number, "least": self.least, "most": self.most},
            )
        return number

    def show(self, value: int | None) -> str:
        """Digits."""
        return "" if value is None else str(value)


@dataclass(frozen=True, slots=True)
class Number:
    """An exact decimal with at most `decimals` decimals."""

    least: Decimal
    most: Decimal
    decimals: int = 6

    def parse(self, text: str, decimal_mark: str) -> Decimal:
        """The number; a minus sign is allowed where the least is below zero."""
        sign = "-?" if self.least < 0 else ""
        pattern = rf"{sign}[0-9]{{1,7}}(?:{re.escape(decimal_mark)}[0-9]{{1,{self.decimals}}})?"
        if not re.fullmatch(pattern, text, flags=re.ASCII):
            raise BadCell(
                gettext_noop(
                    "“%(given)s” is not a number. Write digits with at most %(decimals)s decimals, "
                    "like 2%(mark)s5."
                ),
                figures={"given": shorten(text), "decimals": self.decimals, "mark": decimal_mark},
            )
        number = Decimal(text.replace(decimal_mark, "."))
        if not self.least <= number <= self.most:
            raise BadCell(
                gettext_noop("%(given)s is outside what this can be: %(least)s to %(most)s."),
                figures={"given": number, "least": self.least, "most": self.most},
            )
        return number

    def show(self, value: Decimal | None) -> str:
        """Plain digits, no needless zeros."""
        if value is None:
            return ""
        text = f"{value:f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
