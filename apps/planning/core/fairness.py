"""How fair shares are, in one number and for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from apps.kernel.figures import FigureError, finite


def jain_index(shares: Sequence[float]) -> float:
    """(sum x)^2 / (n sum x^2), from 1/n, one has all, to 1, all have the same.

    Jain, Chiu and Hawe 1984, A quantitative measure of fairness and discrimination, DEC-TR-301
    (from memory). Shares are what each got over what it could have and wished for, so that a small
    tank that is full counts as much as a large one. Nobody having anything is as fair as can be.
    """
    if not shares:
        raise FigureError("Nobody to share with; give at least one share.")
    for share in shares:
        finite(share, "A share", "of 1")
    squares = sum(share * share for share in shares)
    return 1.0 if squares == 0 else sum(shares) ** 2 / (len(shares) * squares)


@dataclass(frozen=True, slots=True)
class Share:
    """What one got in the days looked at, what it wished for, and what it could take."""

    got: int
    wished: int
    could: int

    @property
    def due(self) -> int:
        """What it is measured by: its wish, or what it can take where that is less."""
        return min(self.wished, self.could)

    @property
    def of_due(self) -> float:
        """Got over due; 1 where nothing is due."""
        return self.got / self.due if self.due > 0 else 1.0
