"""Lines that somebody typed in from a printed sheet.

    A1B           fetched, as planned
    A1B 3.5       fetched, 3.5 kg
    A1B -         did not work out
    A2C -c        could not be brought; the waste went to compost (-r back, -d thrown away)

One stop a line; small letters and the other decimal mark are understood.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from apps.kernel.errors import Refused
from apps.kernel.quantities import parse_thousandths
from apps.kernel.words import gettext_noop

MOST_LINES = 200
DASHES = {"-": "", "-c": "composted", "-r": "returned", "-d": "discarded"}
_LINE = re.compile(r"([A-Za-z]{1,2}[12][A-Za-z])(?:\s+(\S+))?")


class SheetUnreadable(Refused):
    """A line that means nothing; none of the lines was written down."""

    code = "sheet_unreadable"


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One stop by its short code: the weight if one was typed; `is_problem`: a dash, with
    `went_to` where a letter followed."""

    code: str
    amount_g: int | None = None
    is_problem: bool = False
    went_to: str = ""


def read_sheet(text: str, known: Collection[str]) -> list[SheetLine]:
    """Every line, or `SheetUnreadable` naming the first that cannot be read."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if not lines or len(lines) > MOST_LINES:
        raise SheetUnreadable(
            gettext_noop("Type one code a line, at least one and at most %(most)s."),
            field="lines",
            figures={"most": MOST_LINES},
        )
    read = [_read(line, known) for line in lines]
    codes = [line.code for line in read]
    for code in codes:
        if codes.count(code) > 1:
            raise SheetUnreadable(
                gettext_noop("%(code)s is typed twice. Leave one of the two out."),
                field="lines",
                figures={"code": code},
            )
    return read


def _read(line: str, known: Collection[str]) -> SheetLine:
    found = _LINE.fullmatch(line)
    code = found.group(1).upper() if found else ""
    if found is None or code not in known:
        raise SheetUnreadable(
            gettext_noop(
                "“%(line)s” is no code of this round. Look at the sheet again: a letter, 1 or 2, "
                "and a letter; then the kilograms, or a dash."
            ),
            field="lines",
            figures={"line": line[:30]},
        )
    rest = found.group(2)
    if rest is not None and rest.lower() in DASHES:
        return SheetLine(code, is_problem=True, went_to=DASHES[rest.lower()])
    if rest is None:
        return SheetLine(code)
    return SheetLine(code, parse_thousandths(rest.replace(",", "."), unit="kg"))
