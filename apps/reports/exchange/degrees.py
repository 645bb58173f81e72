"""A latitude or longitude: degrees, or an Open Location Code that names the spot."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from apps.places.core.found_spot import kept_degrees
from apps.places.core.location_code import find_code, point_of_code
from apps.places.core.unreadable import Unreadable
from apps.reports.exchange.number_cells import Number
from apps.reports.exchange.problem import BadCell


@dataclass(frozen=True, slots=True)
class Degrees:
    """Both columns of a row may hold the same code, which must be a full one."""

    axis: Literal["latitude", "longitude"]

    @property
    def _number(self) -> Number:
        most = Decimal(90 if self.axis == "latitude" else 180)
        return Number(-most, most)

    def parse(self, text: str, decimal_mark: str) -> Decimal:
        """Degrees to a millionth."""
        code = find_code(text)
        if code is None:
            return self._number.parse(text, decimal_mark)
        try:
            return kept_degrees(getattr(point_of_code(code), self.axis))
        except Unreadable as error:
            raise BadCell(error.sentence.template, figures=error.sentence.values) from error

    def show(self, value: Decimal | None) -> str:
        """Always as degrees."""
        return self._number.show(value)
