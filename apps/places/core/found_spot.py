"""A point that somebody looked for."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

STEP = Decimal("0.000001")
"""Places are kept to a millionth of a degree, about a tenth of a metre."""


@dataclass(frozen=True, slots=True)
class FoundSpot:
    """`is_exact` is False where the nearest house number, or a name only like it, was found."""

    label: str
    latitude: Decimal
    longitude: Decimal
    is_exact: bool


def kept_degrees(degrees: float) -> Decimal:
    """As places are kept."""
    return Decimal(degrees).quantize(STEP)
