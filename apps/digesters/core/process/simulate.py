"""Many digesters through many days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from apps.digesters.core.process.conditions import conditions_for
from apps.digesters.core.process.parameters import ProcessParameters, default_parameters
from apps.digesters.core.process.state import (
    ACIDS,
    HIGHER_ACIDS,
    HYDROGEN_ION,
    STATE_ROWS,
    Floats,
)
from apps.digesters.core.process.step import advance

HOURLY = 24
SIX_HOURLY = 4
# Plants worked on at once: small enough that a step's arrays stay in the processor's cache.
CHUNK = 4000


@dataclass(frozen=True)
class DailyInputs:
    """What enters plants by day; `n` plants, all arrays float.

    loads: (days, LOAD_ROWS, n) per cubic metre of slurry and day [kgCOD/m3/d, kmol/m3/d]
    dilution_per_d: (days, n) volume entering per volume of slurry [1/d]
    slurry_c: (days, n) slurry temperature [C]
    """

    loads: Floats
    dilution_per_d: Floats
    slurry_c: Floats

    def part(self, plants: slice) -> DailyInputs:
        """The inputs of some of the plants."""
        return DailyInputs(
            self.loads[:, :, plants], self.dilution_per_d[:, plants], self.slurry_c[:, plants]
        )


@dataclass(frozen=True)
class DailyResults:
    """What came of it, (days, n) each: gas [kmol per m3 of slurry and day], end-of-day state."""

    methane: Floats
    carbon_dioxide: Floats
    ph: Floats
    ph_lowest: Floats
    acids: Floats
    end: Floats  # (STATE_ROWS, n)


def simulate(
    start: Floats,
    inputs: DailyInputs,
    *,
    activity: Floats | float = 1.0,
    hydrolysis: Floats | float = 1.0,
    steps_per_day: int = HOURLY,
    parameters: ProcessParameters | None = None,
) -> DailyResults:
    """Run plants from `start` (STATE_ROWS, n) through the days of `inputs`.

    `activity` (am) and `hydrolysis` (ah) are factors [-], one a plant or one for all. An hour is
    the step for a record, six hours for ensemble forecasts; a day is too long to trust.
    """
    p = parameters or default_parameters()
    days, plants = inputs.dilution_per_d.shape
    am = np.broadcast_to(np.asarray(activity, dtype=float), (plants,))
    ah = np.broadcast_to(np.asarray(hydrolysis, dtype=float), (plants,))
    out = {name: np.empty((days, plants)) for name in ("ch4", "co2", "ph", "low", "acids")}
    end = np.empty((STATE_ROWS, plants))
    for first in range(0, plants, CHUNK):
        some = slice(first, min(first + CHUNK, plants))
        x = start[:, some].copy()
        for day in range(days):
            conditions = conditions_for(
                inputs.loads[day, :, some],
                inputs.dilution_per_d[day, some],
                inputs.slurry_c[day, some],
                am[some],
                ah[some],
                steps_per_day,
                p,
            )
            methane = np.zeros(x.shape[1])
            carbon_dioxide = np.zeros(x.shape[1])
            sourest = x[HYDROGEN_ION].copy()
            for _ in range(steps_per_day):
                made, stripped = advance(x, conditions, p)
                methane += made
                carbon_dioxide += stripped
                np.maximum(sourest, x[HYDROGEN_ION], out=sourest)
            out["ch4"][day, some] = methane
            out["co2"][day, some] = carbon_dioxide
            out["ph"][day, some] = -np.log10(x[HYDROGEN_ION])
            out["low"][day, some] = -np.log10(sourest)
            out["acids"][day, some] = x[ACIDS] + x[HIGHER_ACIDS]
        end[:, some] = x
    return DailyResults(out["ch4"], out["co2"], out["ph"], out["low"], out["acids"], end)
