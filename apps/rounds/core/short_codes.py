"""Codes on the printed sheet: easy to read, hard to mistake for one another.

A letter for the pickup, 1 for fetching or 2 for bringing, and a check letter that depends on
both, so that one wrong character is noticed. Letters that look like figures are left out.
"""

from __future__ import annotations

from apps.rounds.core.problem import Side

LETTERS = "ABCDEFGHJKLMNPRTUVWXY"
MOST_PICKUPS = len(LETTERS) ** 2


def short_code(number: int, side: Side) -> str:
    """Of the pickup `number` (from 0) of a round: ``"A1B"``; from the 22nd on two letters."""
    tens, ones = divmod(number, len(LETTERS))
    letters = LETTERS[ones] if not tens else LETTERS[tens - 1] + LETTERS[ones]
    digit = 1 if side is Side.FETCH else 2
    check = sum((place + 2) * LETTERS.index(each) for place, each in enumerate(letters))
    return f"{letters}{digit}{LETTERS[(check + 5 * digit) % len(LETTERS)]}"
