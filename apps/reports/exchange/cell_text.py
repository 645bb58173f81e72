"""Text of a cell that neither hides anything nor does anything in a spreadsheet."""

from __future__ import annotations

import unicodedata

from apps.kernel.words import gettext_noop
from apps.reports.exchange.problem import BadCell

FORMULA_STARTS = "=+-@\t"
BIDI_CONTROLS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def shorten(text: str) -> str:
    """What a sentence may quote of a cell."""
    return text if len(text) <= 30 else text[:30] + "…"


def plain(text: str) -> str:
    """Text on one line, without control characters and spaces at its ends."""
    spaced = (" " if unicodedata.category(each) in {"Cc", "Cs"} else each for each in text)
    return "".join(spaced).strip()


def neutralise(text: str) -> str:
    """Text that no spreadsheet takes for a formula: such a start gets an apostrophe before it."""
    return f"'{text}" if text.startswith((*FORMULA_STARTS, "'")) else text


def denature(text: str) -> str:
    """Take `neutralise`'s apostrophe off; refuse what starts like a formula."""
    if text.startswith("'"):
        return text[1:]
    if text.startswith(tuple(FORMULA_STARTS)):
        refuse_formula(text)
    return text


def refuse_formula(text: str) -> None:
    """Say that formulas are not read."""
    raise BadCell(
        gettext_noop(
            "“%(given)s” starts like a formula, and formulas are not read. "
            "Paste the value itself; if it is text, put an apostrophe before it."
        ),
        figures={"given": shorten(text)},
    )
