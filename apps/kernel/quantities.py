"""Whole grams and millilitres from what people type, and back.

Facts are whole numbers between 1 and 2,000,000. Text is read strictly: digits with at most
three decimals and the decimal mark of the reader's locale. `1_000`, `1e5`, `NaN`, signs and
thousands separators are refused, so that what was understood is never a surprise.
"""

from __future__ import annotations

import re
from decimal import Decimal

from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop

MAX_FACT = 2_000_000
"""Largest amount of one fact, in grams or millilitres (two tonnes, two cubic metres)."""


class UnreadableAmount(Refused):
    """The text is not an amount, or not one that a fact may have."""

    code = "unreadable_amount"


def parse_thousandths(text: str, *, unit: str, decimal_mark: str = ".", least: int = 1) -> int:
    """Read kilograms or litres and return whole grams or millilitres.

    `decimal_mark` is the reader's, '.' or ','; the other one is refused rather than guessed.
    """
    cleaned = text.strip()
    shown = cleaned if len(cleaned) <= 20 else cleaned[:20] + "…"
    pattern = rf"[0-9]{{1,7}}(?:{re.escape(decimal_mark)}[0-9]{{1,3}})?"
    if not re.fullmatch(pattern, cleaned, flags=re.ASCII):
        raise UnreadableAmount(
            gettext_noop(
                "“%(given)s” is not an amount in %(unit)s. "
                "Write digits with at most three decimals, like %(example)s."
            ),
            figures={"given": shown, "unit": unit, "example": f"2{decimal_mark}5"},
        )
    amount = int(Decimal(cleaned.replace(decimal_mark, ".")) * 1000)
    if not least <= amount <= MAX_FACT:
        raise UnreadableAmount(
            gettext_noop(
                "%(given)s %(unit)s cannot be written down: "
                "it takes at least %(least)s and at most %(most)s %(unit)s."
            ),
            figures={
                "given": shown,
                "unit": unit,
                "least": in_thousands(least),
                "most": in_thousands(MAX_FACT),
            },
        )
    return amount


def in_thousands(amount: int) -> str:
    """Grams as kilograms, millilitres as litres: plain digits, a dot, no needless zeros."""
    sign = "-" if amount < 0 else ""
    whole, rest = divmod(abs(amount), 1000)
    return f"{sign}{whole}" + (f".{rest:03d}".rstrip("0") if rest else "")
