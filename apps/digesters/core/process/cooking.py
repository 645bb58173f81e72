"""Gas as minutes of cooking, and as fuel it stands in for.

Flared and vented gas is kept apart: it cooked nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from apps.digesters.core.process.gas import STANDARD_PA, standard_m3

# GTZ 1993 plans with 0.3 m3/h; published household burners take 200 to 450 L/h.
DEFAULT_BURNER_L_PER_H: Final = 300.0
# Fuel one cubic metre of biogas stood in for, GTZ 1993 s. 2.3 and 7.1 (read). Other books differ by
# 30 to 45 %: stove efficiencies are inside, so never chain one with another.
LPG_KG_PER_M3: Final = 0.4
FIREWOOD_KG_PER_M3: Final = 5.0
CHARCOAL_KG_PER_M3: Final = 2.0


@dataclass(frozen=True)
class Band:
    """A middle with the 80 % band around it: quantiles 0.1, 0.5 and 0.9."""

    low: float
    middle: float
    high: float

    def scaled(self, factor: float) -> Band:
        """The band in another unit."""
        return Band(self.low * factor, self.middle * factor, self.high * factor)


@dataclass(frozen=True)
class Burner:
    """A burner: litres of wet gas an hour at the temperature and gauge pressure it is used at."""

    litres_per_hour: float = DEFAULT_BURNER_L_PER_H
    gas_c: float = 25.0
    gauge_pa: float = 0.0

    @property
    def standard_m3_per_minute(self) -> float:
        """Dry standard m3 a minute."""
        wet = self.litres_per_hour / 1000.0 / 60.0
        return float(standard_m3(wet, self.gas_c, STANDARD_PA + self.gauge_pa))

    def burnt_m3(self, minutes: float) -> float:
        """Dry standard m3 burnt in so many minutes of one burner."""
        return minutes * self.standard_m3_per_minute

    def minutes(self, gas_m3: Band) -> Band:
        """Minutes of one burner that gas [dry standard m3] gives."""
        return gas_m3.scaled(1.0 / self.standard_m3_per_minute)


def gas_this_evening(held_m3: float, made: Band, room_m3: float) -> Band:
    """Gas there will be to cook with: held now and made by then, no more than the holder takes.

    All dry standard m3; `room_m3` is the full holder.
    """
    return Band(*(min(held_m3 + x, room_m3) for x in (made.low, made.middle, made.high)))


@dataclass(frozen=True)
class FuelSaved:
    """Fuels a burnt volume stood in for; one or the other, never their sum [kg]."""

    lpg_kg: float
    firewood_kg: float
    charcoal_kg: float


def fuel_saved(burnt_wet_m3: float) -> FuelSaved:
    """Fuel that `burnt_wet_m3` of biogas, as the holder measures it, stood in for."""
    return FuelSaved(
        LPG_KG_PER_M3 * burnt_wet_m3,
        FIREWOOD_KG_PER_M3 * burnt_wet_m3,
        CHARCOAL_KG_PER_M3 * burnt_wet_m3,
    )
