"""The gas in a digester's holder by the last look at it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from apps.digesters.core.gas_picture import GasPicture, gas_picture
from apps.digesters.core.process.gas import STANDARD_PA, standard_m3
from apps.digesters.core.process.holder import FixedDome, FloatingDrum, GasBag, GasInHolder
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
    reading = readings.filter(kind=holder_reading(digester)[0]).last()
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


def holder_reading(digester: Digester) -> tuple[ReadingKind, int]:
    """How its holder is read, and the reading of a full one (0: not known)."""
    if digester.kind == DigesterKind.FLOATING_DRUM:
        return ReadingKind.DRUM_HEIGHT, digester.drum_stop_mm or 0
    if digester.kind == DigesterKind.FIXED_DOME and digester.full_pressure_pa:
        return ReadingKind.PRESSURE, digester.full_pressure_pa
    return ReadingKind.FULLNESS, 4


def look_at_holder(
    digester: Digester, value: int, gas_c: float
) -> tuple[GasInHolder, float, float] | None:
    """What a reading of the kind of `holder_reading` shows: drum height [mm], a dome's pressure
    [Pa], or fullness in quarters. With it gauge pressure [Pa], and how far up; None where the
    holder's measures are not known."""
    kind, full = holder_reading(digester)
    if kind != ReadingKind.DRUM_HEIGHT:
        if not digester.gas_holder_ml:
            return None
        holder_m3, share = digester.gas_holder_ml / 1_000_000, min(1.0, value / full)
        if kind == ReadingKind.PRESSURE:
            return FixedDome(holder_m3, full).gas_at(value, gas_c), share * full, share
        return GasBag(holder_m3).gas_at(value, gas_c), 0.0, share
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
