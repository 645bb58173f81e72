"""What if we feed differently for a while: two futures of one digester side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from apps.digesters.core.process.cooking import Band
from apps.digesters.core.process.ensemble import Ensemble
from apps.digesters.core.process.forecast import FeedPlan, Forecast, forecast
from apps.digesters.core.process.load import Portion, load_of


@dataclass(frozen=True)
class PlannedDay:
    """What is meant to go in on one day, and the slurry temperature expected [C]."""

    portions: tuple[Portion, ...]
    water_l: float
    slurry_c: float


@dataclass(frozen=True)
class Future:
    """One future: gas by day and in all [dry standard m3], lowest pH, chance of souring [-]."""

    gas_by_day_m3: tuple[Band, ...]
    gas_m3: Band
    ph_lowest: Band
    souring_probability: float


def feed_plan(days: Sequence[PlannedDay], working_m3: float) -> FeedPlan:
    """One digester's planned days as model inputs."""
    loads, dilution = zip(
        *(load_of(day.portions, day.water_l, working_m3) for day in days), strict=True
    )
    return FeedPlan(
        np.stack(loads)[:, :, None],
        np.array(dilution)[:, None],
        np.array([[day.slurry_c] for day in days]),
    )


def future_of(ahead: Forecast) -> Future:
    """A one-digester forecast as figures."""
    return Future(
        tuple(ahead.gas_band(0, day) for day in range(ahead.gas_m3.shape[0])),
        ahead.total_gas_band(0),
        ahead.ph_band(0),
        ahead.souring_probability(0),
    )


def what_if(ensemble: Ensemble, working_m3: float, planned: Sequence[PlannedDay]) -> Future:
    """The future of one digester fed as planned; ask twice to compare two plans."""
    volumes = np.array([working_m3])
    return future_of(forecast(ensemble, feed_plan(planned, working_m3), volumes))
