"""Figures that are checked before anything is computed from them."""

import math
from dataclasses import dataclass


class FigureError(ValueError):
    """A figure was refused; the message says which, why, and what to do."""


def finite(
    value: float, name: str, unit: str, *, low: float = 0.0, high: float = math.inf
) -> float:
    """Return ``value`` [unit] when it is a finite number within low..high, else refuse it."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise FigureError(f"{name} is {value!r}; give it as a number in {unit}.")
    if not math.isfinite(value):
        raise FigureError(f"{name} is {value}, which is not a finite number; give it in {unit}.")
    if value < low:
        raise FigureError(f"{name} is {value:g} {unit}; it must be at least {low:g} {unit}.")
    if value > high:
        raise FigureError(f"{name} is {value:g} {unit}; it may be at most {high:g} {unit}.")
    return float(value)


def whole(value: int, name: str, unit: str, *, low: int = 0, high: int | None = None) -> int:
    """Return ``value`` [unit] when it is a whole number within low..high, else refuse it."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise FigureError(f"{name} is {value!r}; give it as whole {unit}.")
    if value < low:
        raise FigureError(f"{name} is {value} {unit}; it must be at least {low} {unit}.")
    if high is not None and value > high:
        raise FigureError(f"{name} is {value} {unit}; it may be at most {high} {unit}.")
    return value


EVIDENCE = ("read", "derived", "memory", "practice", "assumed", "measured")
"""How well a figure is known: seen in the source named, computed from such figures, recalled
from the source and still to be checked, common practice without a source, our assumption, or
measured by the group itself."""


@dataclass(frozen=True)
class Figure:
    """One published or measured figure with its unit, source and evidence."""

    value: float
    unit: str
    source: str
    evidence: str
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        finite(self.value, "The figure", self.unit)
        if self.evidence not in EVIDENCE:
            raise FigureError(
                f"Evidence {self.evidence!r} is unknown; use one of {', '.join(EVIDENCE)}."
            )
        if not self.source.strip():
            raise FigureError(f"The figure {self.value:g} {self.unit} has no source; name one.")
        if self.low is not None and self.low > self.value:
            raise FigureError(f"The low end {self.low:g} is above the figure {self.value:g}.")
        if self.high is not None and self.high < self.value:
            raise FigureError(f"The high end {self.high:g} is below the figure {self.value:g}.")
