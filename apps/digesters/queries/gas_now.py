"""The gas in a digester's holder by the last look at it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from apps.digesters.core.gas_picture import GasPicture, gas_picture
from apps.digesters.core.process.gas import STANDARD_PA, standard_m3
from apps.digesters.core.process.holder import FloatingDrum, GasBag, GasInHolder
from apps.digesters.models import Digester, DigesterKind, Reading, ReadingKind
from apps.digesters.queries.day_facts import STALE_TEMPERATURE_DAYS

UNKNOWN_GAS_C = 25.0
"""Taken where no temperature was read. Assumed."""

UNKNOWN_DRUM_KG_PER_M2 = 80.0
"""Drum weight over its area where nobody stated it: 8 cm of water (KVIC 8-10, from memory)."""


@dataclass(frozen=True, slots=True)
class GasNow:
    """`height_share`: how high the drum stands of its stop, 0 to 1, for the picture."""

    picture: GasPicture
    read_at: datetime
    height_share: float


def gas_now(digester: Digester, now: datetime) -> GasNow | None:
    """None where the holder was never read, or cannot be. Two queries."""
    readings = Reading.objects.of(digester.group).filter(
        digester=digester, withdrawn_at=None, taken_at__lte=now
    )
    kind = (
        ReadingKind.DRUM_HEIGHT
        if digester.kind == DigesterKind.FLOATING_DRUM
        else ReadingKind.FULLNESS
    )
    reading = readings.filter(kind=kind).last()
    if reading is None:
        return None
    warm = readings.filter(kind=ReadingKind.SLURRY_TEMPERATURE).last()
    fresh = warm is not None and (now - warm.taken_at).days <= STALE_TEMPERATURE_DAYS
    gas_c = warm.value / 100 if warm is not None and fresh else UNKNOWN_GAS_C
    found = look_at_holder(digester, reading.value, gas_c)
    if found is None:
        return None
    seen, gauge_pa, height_share = found
    picture = gas_picture(
        seen,
        float(standard_m3(1.0, gas_c, STANDARD_PA + gauge_pa)),
        digester.burner_ml_per_h / 1000,
    )
    return GasNow(picture, reading.taken_at, height_share)


def look_at_holder(
    digester: Digester, value: int, gas_c: float
) -> tuple[GasInHolder, float, float] | None:
    """What a drum height [mm] or a fullness in quarters shows, gauge pressure [Pa], and how far
    up; None where the holder's measures are not known."""
    if digester.kind != DigesterKind.FLOATING_DRUM:
        if not digester.gas_holder_ml:
            return None
        return GasBag(digester.gas_holder_ml / 1_000_000).gas_at(value, gas_c), 0.0, value / 4
    if not digester.drum_diameter_mm or not digester.drum_stop_mm:
        return None
    drum = FloatingDrum(digester.drum_diameter_mm / 1000, digester.drum_stop_mm / 1000, 0.0)
    weight_kg = (
        digester.drum_mass_g / 1000
        if digester.drum_mass_g
        else UNKNOWN_DRUM_KG_PER_M2 * drum.area_m2
    )
    drum = FloatingDrum(drum.diameter_m, drum.stop_height_m, weight_kg)
    seen = drum.gas_at(value / 1000, gas_c)
    return seen, drum.gauge_pa, min(1.0, value / digester.drum_stop_mm)
