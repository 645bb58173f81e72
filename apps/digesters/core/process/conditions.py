"""What stays the same through a day: feed, flow, and rates at the day's temperature.

Equations (1) and (2) of `step`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from apps.digesters.core.process import chemistry
from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.state import Floats

REFERENCE_C = 35.0


def hydrolysis_temperature_factor(slurry_c: Floats, p: ProcessParameters) -> Floats:
    """Equation (1) [-]."""
    return np.asarray(np.exp(p.theta_hydrolysis * (np.asarray(slurry_c) - REFERENCE_C)))


def methanogen_temperature_factor(slurry_c: Floats, p: ProcessParameters) -> Floats:
    """Equation (2) [-]."""
    t = np.asarray(slurry_c, dtype=float)
    cold = 1.0 + np.exp(-(REFERENCE_C - p.cold_midpoint) / p.cold_width)
    cold_now = 1.0 + np.exp(-(t - p.cold_midpoint) / p.cold_width)
    return np.asarray(np.exp(p.theta_methanogen * (t - REFERENCE_C)) * cold / cold_now)


@dataclass(frozen=True)
class DayConditions:
    """What stays the same through a day's steps; all broadcastable to the plants' shape.

    `step_d` is the length of a step [d]; rates are already multiplied by it.
    """

    step_d: float
    inflow: Floats  # per step, (LOAD_ROWS, ...) [kgCOD/m3, kmol/m3]
    dilution: Floats  # 1 / (1 + step D) [-]
    fast: Floats
    slow: Floats
    fibre: Floats
    methanogen: Floats
    higher: Floats
    fat_eater: Floats
    decayed: Floats  # share of cells dying in a step [-]
    equilibria: chemistry.Equilibria


def conditions_for(
    load: Floats,
    dilution_per_d: Floats,
    slurry_c: Floats,
    activity: Floats | float,
    hydrolysis: Floats | float,
    steps_per_day: int,
    p: ProcessParameters,
) -> DayConditions:
    """Fold temperature, activity am and hydrolysis factor ah into per-step rates.

    `load` (LOAD_ROWS, ...) is what enters per cubic metre of slurry and day; `dilution_per_d` the
    volume that enters per volume of slurry and day.
    """
    step_d = 1.0 / steps_per_day
    f_h = hydrolysis_temperature_factor(slurry_c, p)
    death = step_d * p.decay * f_h
    f_m = methanogen_temperature_factor(slurry_c, p) * np.asarray(activity)
    return DayConditions(
        step_d=step_d,
        inflow=load * step_d,
        dilution=1.0 / (1.0 + step_d * np.asarray(dilution_per_d, dtype=float)),
        fast=step_d * p.k_fast * f_h,
        slow=step_d * p.k_slow * f_h * hydrolysis,
        fibre=step_d * p.k_fibre * f_h,
        methanogen=step_d * p.k_methanogen * f_m,
        higher=step_d * p.k_higher * f_m,
        fat_eater=step_d * p.k_fat * f_m,
        decayed=death / (1.0 + death),
        equilibria=chemistry.equilibria_at(slurry_c, p),
    )
