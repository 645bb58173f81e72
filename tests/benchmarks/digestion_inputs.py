"""Scenarios of the reference simulator as inputs of our model, and the gas columns alike."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from apps.digesters.core.process.fractions import fractions_of_composition
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.simulate import DailyInputs, DailyResults
from apps.digesters.core.process.state import LOAD_ROWS
from tests.benchmarks.digestion_reference import Waste

GAS_CONSTANT_BAR = 0.083145  # m3 bar / (kmol K), as in the BSM2 ADM1


def load_per_kg(waste: Waste) -> Portion:
    """One kg of the reference waste as a portion of ours."""
    fractions = fractions_of_composition(
        waste.carbohydrate, waste.protein, waste.lipid, soluble_share=waste.soluble_share
    )
    return Portion(1.0, waste.ts * waste.vs_of_ts, fractions)


def inputs_of(
    wastes: Sequence[Waste],
    volumes_m3: Sequence[float],
    feed_kg: np.ndarray,
    water_l: np.ndarray,
    slurry_c: np.ndarray,
) -> DailyInputs:
    """Daily arrays (days, plants) to model inputs; loads are linear in feed and water."""
    days, plants = feed_kg.shape
    loads = np.empty((days, LOAD_ROWS, plants))
    dilution = np.empty((days, plants))
    for plant, (waste, volume) in enumerate(zip(wastes, volumes_m3, strict=True)):
        of_feed, d_feed = load_of([load_per_kg(waste)], 0.0, volume)
        of_water, d_water = load_of([], 1.0, volume)
        feed, water = feed_kg[:, plant], water_l[:, plant]
        loads[:, :, plant] = feed[:, None] * of_feed + water[:, None] * of_water
        dilution[:, plant] = feed * d_feed + water * d_water
    return DailyInputs(loads, dilution, slurry_c)


def reference_gas(
    results: DailyResults, slurry_c: np.ndarray, volumes_m3: np.ndarray
) -> np.ndarray:
    """Gas as the reference counts it: wet volume at the digester, rescaled by 273.15/T [Nm3/d]."""
    kelvin = slurry_c + 273.15
    vapour = 0.0313 * np.exp(5290.0 * (1 / 298.15 - 1 / kelvin))
    kmol = (results.methane + results.carbon_dioxide) * volumes_m3
    return np.asarray(kmol * GAS_CONSTANT_BAR * 273.15 / (1.013 - vapour))


def reference_methane(results: DailyResults, volumes_m3: np.ndarray) -> np.ndarray:
    """Methane as the reference counts it [Nm3/d]."""
    return np.asarray(results.methane * volumes_m3 * GAS_CONSTANT_BAR * 273.15 / 1.013)
