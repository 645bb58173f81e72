"""What a look at the gas holder says about the gas in it, by kind of holder.

A floating drum is read by height; its weight sets the pressure. A fixed dome is read by pressure,
a bag by fullness in quarters, both only roughly. A holder at its stop gives a lower bound: what
bubbled past it was not seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Final

from apps.digesters.core.process.gas import STANDARD_PA, standard_m3

GRAVITY_M_S2: Final = 9.80665
# How well a stick, a water gauge or an eye reads; assumed.
DRUM_HEIGHT_SD_M: Final = 0.01
DOME_PRESSURE_SD_PA: Final = 200.0
BAG_QUARTER_SD: Final = 0.10
# A drum read this near its stop may well be at it: two and a half times the error of a stick.
# Taking a spilling drum at its word would teach that gas is short.
STOP_MARGIN_M: Final = 0.025


class HolderWrong(ValueError):
    """A holder or a reading of it that cannot be."""


@dataclass(frozen=True)
class GasInHolder:
    """Gas seen in a holder [dry standard m3], its standard deviation, and whether it was full."""

    standard_m3: float
    sd_m3: float
    at_stop: bool


@dataclass(frozen=True)
class FloatingDrum:
    """A drum over slurry or a water jacket.

    `stop_height_m` is the gas height at which it stops rising and gas escapes around the rim.
    """

    diameter_m: float
    stop_height_m: float
    drum_weight_kg: float

    def __post_init__(self) -> None:
        if min(self.diameter_m, self.stop_height_m) <= 0.0 or self.drum_weight_kg < 0.0:
            raise HolderWrong(
                f"A drum of {self.diameter_m:g} m across, {self.stop_height_m:g} m high and "
                f"{self.drum_weight_kg:g} kg cannot hold gas; measure it again."
            )

    @property
    def area_m2(self) -> float:
        return pi * self.diameter_m**2 / 4.0

    @property
    def gauge_pa(self) -> float:
        """Gas pressure above the air's [Pa]: weight over area."""
        return self.drum_weight_kg * GRAVITY_M_S2 / self.area_m2

    def gas_at(self, gas_height_m: float, gas_c: float, air_pa: float = STANDARD_PA) -> GasInHolder:
        """Gas when the drum stands `gas_height_m` above its empty mark."""
        if gas_height_m < -DRUM_HEIGHT_SD_M:
            raise HolderWrong(
                f"The drum cannot stand {-gas_height_m * 100:.0f} cm below its empty mark; "
                f"measure from the mark upwards."
            )
        height = min(max(gas_height_m, 0.0), self.stop_height_m)
        per_metre = float(standard_m3(self.area_m2, gas_c, air_pa + self.gauge_pa))
        return GasInHolder(
            height * per_metre,
            DRUM_HEIGHT_SD_M * per_metre,
            height >= self.stop_height_m - STOP_MARGIN_M,
        )


@dataclass(frozen=True)
class FixedDome:
    """A dome whose pressure pushes slurry into an outlet basin; pressure rises with gas held.

    `full_m3` is the gas volume at `full_pa`, the pressure at which gas escapes; between, gas is
    taken as proportional to pressure (assumed).
    """

    full_m3: float
    full_pa: float

    def gas_at(self, gauge_pa: float, gas_c: float, air_pa: float = STANDARD_PA) -> GasInHolder:
        """Gas at gauge pressure [Pa]."""
        if gauge_pa < 0.0 or self.full_pa <= 0.0:
            raise HolderWrong(
                f"A dome at {gauge_pa:g} Pa of at most {self.full_pa:g} Pa cannot be read; read "
                f"the gauge again."
            )
        share = min(gauge_pa / self.full_pa, 1.0)
        full = float(standard_m3(self.full_m3, gas_c, air_pa + share * self.full_pa))
        return GasInHolder(
            share * full,
            DOME_PRESSURE_SD_PA / self.full_pa * full,
            gauge_pa >= self.full_pa - DOME_PRESSURE_SD_PA,
        )


@dataclass(frozen=True)
class GasBag:
    """A bag near the air's pressure, read by eye in quarters."""

    full_m3: float

    def gas_at(self, quarters: int, gas_c: float, air_pa: float = STANDARD_PA) -> GasInHolder:
        """Gas when the bag looks `quarters` (0 to 4) quarters full."""
        if not 0 <= quarters <= 4:
            raise HolderWrong(f"A bag is 0 to 4 quarters full, not {quarters}.")
        full = float(standard_m3(self.full_m3, gas_c, air_pa))
        return GasInHolder(quarters / 4.0 * full, BAG_QUARTER_SD * full, quarters == 4)
