"""How long waste may wait, by how it keeps and how warm it is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType

from apps.kernel.figures import FigureError, finite, whole

SOURCE = (
    "Practice, from memory: wet food waste the same day above 30 °C, at most 2 d at 20-25 °C, at "
    "most 3-4 d below 15 °C, closed bin, drained; the gaps between are filled on the strict side"
)

FLY_SOURCE = (
    "House fly 7-10 d from egg to adult in warm summer (pestonil; Doane 1910): always under 7 d"
)


@dataclass(frozen=True)
class HoldingStep:
    """Up to and including ``up_to_c`` [°C], waste may be fed ``days`` after its collection;
    0 days is the same day."""

    up_to_c: float
    days: int


@dataclass(frozen=True)
class HoldingTable:
    """Steps from cold to warm that leave no temperature out."""

    steps: tuple[HoldingStep, ...]
    source: str

    def __post_init__(self) -> None:
        if not self.steps or self.steps[-1].up_to_c != HOTTEST_C:
            raise FigureError(
                f"The holding times stop short; the last step must reach {HOTTEST_C:g} °C."
            )
        for step in self.steps:
            whole(step.days, "The holding time", "days", high=365)
        for cooler, warmer in zip(self.steps, self.steps[1:], strict=False):
            if warmer.up_to_c <= cooler.up_to_c:
                raise FigureError("The holding times must be listed from cold to warm.")
            if warmer.days > cooler.days:
                raise FigureError(
                    f"Waste cannot keep {warmer.days} days at {warmer.up_to_c:g} °C when it "
                    f"keeps {cooler.days} at {cooler.up_to_c:g} °C."
                )

    def days_at(self, celsius: float) -> int:
        """Days after collection at ``celsius``."""
        return next(step.days for step in self.steps if celsius <= step.up_to_c)


HOTTEST_C = 60.0
COLDEST_C = -40.0

_WET_STEPS = (
    # "below 15 °C" leaves 15 itself to the next step.
    HoldingStep(14.9, 3),
    HoldingStep(25.0, 2),
    HoldingStep(30.0, 1),
    HoldingStep(HOTTEST_C, 0),
)

HOLDING_TABLES: Mapping[str, HoldingTable] = MappingProxyType(
    {
        "wet": HoldingTable(_WET_STEPS, SOURCE),
        "dung": HoldingTable((HoldingStep(25.0, 6), HoldingStep(HOTTEST_C, 3)), FLY_SOURCE),
        "dry": HoldingTable((HoldingStep(HOTTEST_C, 30),), "Keeps while dry or sealed; assumed"),
    }
)
"""By how a material keeps (``Material.holding``); a group may set its own."""

FAST_GROUPS = frozenset({"animal"})
"""Risk groups that keep a day less than their kind. Assumed."""


def shelf_life_days(
    holding: str,
    celsius: float,
    risk_groups: Sequence[str] = (),
    tables: Mapping[str, HoldingTable] = HOLDING_TABLES,
) -> int:
    """Days after its collection on which waste may still be fed; 0 is the same day only.

    ``celsius``: the day's highest air temperature [°C] where the bin stands.
    """
    finite(celsius, "The air temperature", "°C", low=COLDEST_C, high=HOTTEST_C)
    if holding not in tables:
        raise FigureError(f"Nothing says how {holding!r} keeps; use one of {', '.join(tables)}.")
    days = tables[holding].days_at(celsius)
    return max(0, days - 1) if FAST_GROUPS & set(risk_groups) else days


def feed_by(
    collected_on: date, holding: str, celsius: float, risk_groups: Sequence[str] = ()
) -> date:
    """Last local day on which waste collected on ``collected_on`` may be fed."""
    return collected_on + timedelta(days=shelf_life_days(holding, celsius, risk_groups))
