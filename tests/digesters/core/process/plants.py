"""Small plants for the tests of the process model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.gas import biogas_standard_m3
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.simulate import SIX_HOURLY, DailyInputs, DailyResults, simulate
from apps.digesters.core.process.state import LOAD_ROWS, Floats, seeded_state

CANTEEN_VS = 0.26 * 0.87  # published TS and VS of canteen food waste (Zhang 2007)
DUNG_VS = 0.14 * 0.75  # published TS and VS of cattle dung (GTZ 97)


def canteen(kg: float) -> tuple[Portion, ...]:
    """So many kg of canteen food waste."""
    return (Portion(kg, CANTEEN_VS, fractions_of("canteen_food_waste")),) if kg else ()


def dung(kg: float) -> tuple[Portion, ...]:
    """So many kg of cattle dung."""
    return (Portion(kg, DUNG_VS, fractions_of("cattle_dung")),)


def constant_inputs(
    portions: Sequence[Portion], water_l: float, slurry_m3: float, slurry_c: float, days: int
) -> DailyInputs:
    """One plant fed alike every day."""
    load, dilution = load_of(portions, water_l, slurry_m3)
    return DailyInputs(
        np.repeat(load[None, :, None], days, axis=0),
        np.full((days, 1), dilution),
        np.full((days, 1), slurry_c),
    )


def unfed_inputs(days: int, plants: int, slurry_c: float) -> DailyInputs:
    """Plants without feed."""
    return DailyInputs(
        np.zeros((days, LOAD_ROWS, plants)),
        np.zeros((days, plants)),
        np.full((days, plants), slurry_c),
    )


@dataclass(frozen=True)
class Case:
    """A plant fed alike: portions and water of a day, slurry [m3] and its temperature [C]."""

    portions: Sequence[Portion]
    water_l: float
    slurry_m3: float
    slurry_c: float


def ramped(
    cases: Sequence[Case], *, days: int = 300, parameters: ProcessParameters | None = None
) -> DailyResults:
    """Plants side by side: a dung start, a ramp of eight weeks, then alike to the last day."""
    each = [
        constant_inputs(case.portions, case.water_l, case.slurry_m3, case.slurry_c, days)
        for case in cases
    ]
    share = np.clip(np.arange(days) / 56.0, 0.05, 1.0)
    inputs = DailyInputs(
        np.concatenate([one.loads for one in each], axis=2) * share[:, None, None],
        np.concatenate([one.dilution_per_d for one in each], axis=1) * share[:, None],
        np.concatenate([one.slurry_c for one in each], axis=1),
    )
    return simulate(
        seeded_state((len(cases),)), inputs, steps_per_day=SIX_HOURLY, parameters=parameters
    )


def last_gas_m3(results: DailyResults, cases: Sequence[Case]) -> Floats:
    """Dry standard gas of the last day [m3], by case."""
    sizes = np.array([case.slurry_m3 for case in cases])
    return biogas_standard_m3(results.methane[-1], results.carbon_dioxide[-1]) * sizes
