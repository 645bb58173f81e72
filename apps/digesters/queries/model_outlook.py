"""What the model is asked about the days ahead of one digester: usual feed, plan, slurry."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from apps.digesters.core.process.capacity import HORIZON_D, FeedMix, feed_mix
from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.load import Portion
from apps.digesters.core.process.what_if import PlannedDay
from apps.digesters.models import OwnWaste
from apps.digesters.queries.model_inputs import ModelInputs

USUAL_DAYS = 7
"""A usual day is the mean of so many before today. Chosen by us: one round of weekdays."""

MIX_DAYS = 14
"""The mix to be sized is that of so many days; longer than a week, so that one odd day does not
set it. Chosen by us."""

NO_FEED_YET = Portion(3.0, 0.087, fractions_of("veg_market_mixed"))
NO_FEED_WATER_L = 7.0
"""Sized where nothing was fed yet: 3 kg of market waste to 7 L of water. Common practice, no
source; volatile solids from the published table."""

Grams = Mapping[str, float]


def mean_g(inputs: ModelInputs, today: date, days: int) -> dict[str, float]:
    """Grams a day by material over the days before today; days without a record count as none."""
    total: dict[str, float] = {}
    for back in range(1, days + 1):
        for code, amount_g in inputs.fed_g.get(today - timedelta(days=back), {}).items():
            total[code] = total.get(code, 0.0) + max(0, amount_g) / days
    return total


def mean_water_l(inputs: ModelInputs, today: date, days: int) -> float:
    """Litres of water a day."""
    return (
        sum(inputs.water_ml.get(today - timedelta(days=back), 0) for back in range(1, days + 1))
        / 1000
        / days
    )


def own_waste_g(own: Mapping[int, list[OwnWaste]], digester_id: int) -> dict[str, float]:
    """Own kitchen waste of a usual day by material code."""
    return {each.material.code: float(each.amount_g_per_day) for each in own.get(digester_id, [])}


def usual_mix(inputs: ModelInputs, today: date) -> FeedMix:
    """The mix of what went in lately, per kg."""
    working_m3 = inputs.digester.working_volume_ml / 1e6
    portions = inputs.portions(mean_g(inputs, today, MIX_DAYS))
    if not portions:
        return feed_mix((NO_FEED_YET,), NO_FEED_WATER_L, working_m3)
    return feed_mix(portions, mean_water_l(inputs, today, MIX_DAYS), working_m3)


def planned_days(
    inputs: ModelInputs,
    today: date,
    *,
    planned_g: Mapping[date, Grams] | None = None,
    days: int = HORIZON_D,
) -> list[PlannedDay]:
    """The days from tomorrow on: as planned where a plan says, else as usual."""
    usual_g = mean_g(inputs, today, USUAL_DAYS)
    water_l = mean_water_l(inputs, today, USUAL_DAYS)
    usual_total_g = sum(usual_g.values())
    course = inputs.slurry_c(today + timedelta(days=1), days)
    found = []
    for later, celsius in enumerate(course, start=1):
        grams = (planned_g or {}).get(today + timedelta(days=later), usual_g)
        total_g = sum(grams.values())
        # Water goes with the waste it thins.
        share = total_g / usual_total_g if usual_total_g else 0.0
        litres = water_l * share if usual_total_g else total_g / 1000
        found.append(PlannedDay(inputs.portions(grams), litres, celsius))
    return found


def scaled_days(
    inputs: ModelInputs, today: date, vs_kg_per_day: float, days: int = HORIZON_D
) -> list[PlannedDay]:
    """So many kg of volatile solids of the usual mix on each day from tomorrow on."""
    grams = mean_g(inputs, today, MIX_DAYS)
    portions = inputs.portions(grams)
    water_l = mean_water_l(inputs, today, MIX_DAYS)
    if not portions:
        portions, water_l = (NO_FEED_YET,), NO_FEED_WATER_L
    share = vs_kg_per_day / sum(portion.vs_kg for portion in portions)
    scaled = tuple(
        Portion(portion.fresh_kg * share, portion.vs_per_kg, portion.fractions)
        for portion in portions
    )
    return [
        PlannedDay(scaled, water_l * share, celsius)
        for celsius in inputs.slurry_c(today + timedelta(days=1), days)
    ]
