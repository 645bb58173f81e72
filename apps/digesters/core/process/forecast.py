"""What the next days bring: gas with its 80 % band, and how likely souring is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from apps.digesters.core.process.cooking import Band
from apps.digesters.core.process.ensemble import ACTIVITY, STRENGTH, Ensemble, run_day
from apps.digesters.core.process.gas import METHANE_M3_PER_KMOL, biogas_standard_m3
from apps.digesters.core.process.simulate import SIX_HOURLY
from apps.digesters.core.process.state import ACIDS, HIGHER_ACIDS, NITROGEN, Floats

LOW: Final = 0.1
HIGH: Final = 0.9
# Bands of a factor are too narrow as they come: each side is widened by this. After
# "inflate by about 1.3" of the twin experiments this model grew from.
FACTOR_WIDENING: Final = 1.3
# Members span more than a digester does: their factors wander, its do not, and over a week its days
# partly even out. Each side of a day's band, and of a week's, is this much of what they span;
# between a day and a week in proportion. Set on seed 71 of the twin experiment, held on 3, 7 and
# 72 (tests.benchmarks.digestion_twin).
DAY_NARROWING: Final = 0.70
WEEK_NARROWING: Final = 0.55
# A forecast pH under this counts as souring ahead; a sound digester stays above 6.8.
SOURING_PH: Final = 6.7


@dataclass(frozen=True)
class FeedPlan:
    """What is meant to go in, by day, for `d` digesters.

    loads (days, LOAD_ROWS, d) [kgCOD/m3/d, kmol/m3/d]; dilution_per_d and slurry_c (days, d).
    """

    loads: Floats
    dilution_per_d: Floats
    slurry_c: Floats


@dataclass(frozen=True)
class Forecast:
    """Members' futures: gas and methane (days, d, members) [standard m3/d]; pH likewise."""

    gas_m3: Floats
    methane_m3: Floats
    ph_lowest: Floats

    def gas_band(self, digester: int, day: int) -> Band:
        """Gas of one day [dry standard m3]."""
        return _narrowed(band(self.gas_m3[day, digester]), DAY_NARROWING)

    def total_gas_band(self, digester: int) -> Band:
        """Gas of all days together [dry standard m3]."""
        of_a_week = min((self.gas_m3.shape[0] - 1) / 6.0, 1.0)
        kept = DAY_NARROWING + (WEEK_NARROWING - DAY_NARROWING) * of_a_week
        return _narrowed(band(self.gas_m3[:, digester].sum(axis=0)), kept)

    def souring_probability(self, digester: int, ph: float = SOURING_PH) -> float:
        """Share of members whose pH falls under `ph` within the days."""
        return float((self.ph_lowest[:, digester].min(axis=0) < ph).mean())

    def souring_in_days(self, digester: int, ph: float = SOURING_PH) -> int | None:
        """First day ahead (1 is tomorrow) on which half the members are below `ph`; else None."""
        below = np.median(np.minimum.accumulate(self.ph_lowest[:, digester]), axis=1) < ph
        return int(below.argmax()) + 1 if below.any() else None

    def ph_band(self, digester: int) -> Band:
        """Lowest pH within the days."""
        return band(self.ph_lowest[:, digester].min(axis=0))


@dataclass(frozen=True)
class StateSummary:
    """What a page shows of a digester's inside; bands are 80 %."""

    ph: Band
    acids_g_per_l: Band
    ammonia_nitrogen_g_per_l: Band
    feed_strength: Band
    activity: Band


def band(values: Floats) -> Band:
    """Quantiles 0.1, 0.5 and 0.9."""
    low, middle, high = np.quantile(values, (LOW, 0.5, HIGH))
    return Band(float(low), float(middle), float(high))


def forecast(
    ensemble: Ensemble, plan: FeedPlan, volumes_m3: Floats, *, steps_per_day: int = SIX_HOURLY
) -> Forecast:
    """Run a copy of the ensemble through a feed plan; volumes_m3 (d,)."""
    ahead = ensemble.copy()
    days = plan.dilution_per_d.shape[0]
    shape = (days, ensemble.digesters, ensemble.members)
    gas, methane_m3, lowest = np.empty(shape), np.empty(shape), np.empty(shape)
    for day in range(days):
        methane, carbon_dioxide, lowest[day] = run_day(
            ahead,
            plan.loads[day],
            plan.dilution_per_d[day],
            plan.slurry_c[day],
            steps_per_day=steps_per_day,
        )
        gas[day] = biogas_standard_m3(methane, carbon_dioxide) * volumes_m3[:, None]
        methane_m3[day] = methane * METHANE_M3_PER_KMOL * volumes_m3[:, None]
    return Forecast(gas, methane_m3, lowest)


ACETIC_ACID_G_PER_G_COD: Final = 60.05 / 64.0
NITROGEN_KG_PER_KMOL: Final = 14.007


def summary(ensemble: Ensemble, digester: int = 0) -> StateSummary:
    """State of one digester in words a page can use; acids as acetic acid."""
    state = ensemble.state[:, digester]
    strength, activity = (
        _widened(np.asarray(ensemble.factors[row, digester])) for row in (STRENGTH, ACTIVITY)
    )
    return StateSummary(
        ph=band(ensemble.ph()[digester]),
        acids_g_per_l=band((state[ACIDS] + state[HIGHER_ACIDS]) * ACETIC_ACID_G_PER_G_COD),
        ammonia_nitrogen_g_per_l=band(state[NITROGEN] * NITROGEN_KG_PER_KMOL),
        feed_strength=strength,
        activity=activity,
    )


def _narrowed(plain: Band, kept: float) -> Band:
    return Band(
        plain.middle - kept * (plain.middle - plain.low),
        plain.middle,
        plain.middle + kept * (plain.high - plain.middle),
    )


def _widened(logs: Floats) -> Band:
    plain = band(logs)
    return Band(
        float(np.exp(plain.middle - FACTOR_WIDENING * (plain.middle - plain.low))),
        float(np.exp(plain.middle)),
        float(np.exp(plain.middle + FACTOR_WIDENING * (plain.high - plain.middle))),
    )
