"""Acid-base chemistry: temperature of the constants, and pH from the charge balance.

Constants and their van 't Hoff corrections are those of the BSM2 ADM1 (Rosen & Jeppsson 2006).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.state import Floats

GAS_CONSTANT_J_MOL_K: Final = 8.3145
ZERO_CELSIUS_K: Final = 273.15
BASE_K: Final = 298.15
# Water vapour over slurry, as the BSM2 ADM1 has it: 0.0313 bar at 25 C, exponent 5290 K.
VAPOUR_BASE_BAR: Final = 0.0313
VAPOUR_EXPONENT_K: Final = 5290.0

# A Newton step moves pH by at most 0.6 (ln units), and ends when no plant moves more than
# STEP_TOLERANCE: convergence is quadratic, so the charge then closes to about its square.
LARGEST_STEP: Final = 1.38
STEP_TOLERANCE: Final = 1e-5
NEWTON_STEPS: Final = 6
BISECTION_STEPS: Final = 60
PH_LOWEST: Final = -1.0
PH_HIGHEST: Final = 16.0


@dataclass(frozen=True)
class Equilibria:
    """Constants at the day's temperature, each broadcastable over the plants."""

    co2: Floats  # [kmol/m3]
    nh4: Floats  # [kmol/m3]
    water: Floats  # [kmol2/m6]
    acid: float  # [kmol/m3]
    co2_in_equilibrium: Floats  # dissolved CO2 under pure dry CO2 in the holder [kmol/m3]


def equilibria_at(slurry_c: Floats, p: ProcessParameters) -> Equilibria:
    """Constants at slurry temperature [C]."""
    kelvin = np.asarray(slurry_c, dtype=float) + ZERO_CELSIUS_K
    shift = (1.0 / BASE_K - 1.0 / kelvin) / GAS_CONSTANT_J_MOL_K
    vapour_bar = VAPOUR_BASE_BAR * np.exp(VAPOUR_EXPONENT_K * (1.0 / BASE_K - 1.0 / kelvin))
    henry = p.henry_co2 * np.exp(p.heat_henry_co2 * shift)
    return Equilibria(
        co2=10**-p.pka_co2 * np.exp(p.heat_co2 * shift),
        nh4=10**-p.pka_nh4 * np.exp(p.heat_nh4 * shift),
        water=10**-p.pk_water * np.exp(p.heat_water * shift),
        acid=10**-p.pka_acid,
        co2_in_equilibrium=henry * (p.p_holder - vapour_bar),
    )


def charge_excess(
    hydrogen: Floats,
    nitrogen: Floats,
    carbon: Floats,
    acid_charge: Floats,
    strong: Floats,
    k: Equilibria,
) -> Floats:
    """Positive less negative charge [kmol/m3]; equation (15) with everything on one side."""
    return (
        strong
        + hydrogen
        + nitrogen * hydrogen / (hydrogen + k.nh4)
        - carbon * k.co2 / (k.co2 + hydrogen)
        - acid_charge * k.acid / (k.acid + hydrogen)
        - k.water / hydrogen
    )


def solve_hydrogen(
    guess: Floats,
    nitrogen: Floats,
    carbon: Floats,
    acid_charge: Floats,
    strong: Floats,
    k: Equilibria,
) -> Floats:
    """Hydrogen ion [kmol/m3] that closes the charge balance, equation (15).

    Newton on ln H from the last value; the excess rises with H, so a plant that has not settled
    is finished by bisection between pH -1 and 16.
    """
    h = guess
    for _ in range(NEWTON_STEPS):
        u = 1.0 / (h + k.nh4)
        ammonium = nitrogen * h * u
        v = 1.0 / (h + k.co2)
        bicarbonate = carbon * k.co2 * v
        w = 1.0 / (h + k.acid)
        ions = acid_charge * k.acid * w
        hydroxide = k.water / h
        excess = strong + h + ammonium - bicarbonate - ions - hydroxide
        slope = h + hydroxide + ammonium * k.nh4 * u + (bicarbonate * v + ions * w) * h
        step = excess / slope
        np.minimum(step, LARGEST_STEP, out=step)
        np.maximum(step, -LARGEST_STEP, out=step)
        # exp(-step) to second order: positive, cheap, and exact as the step vanishes.
        half = 0.5 * step
        h = h * ((1.0 - half) / (1.0 + half))
        largest = max(float(step.max()), -float(step.min()))
        if largest < STEP_TOLERANCE:
            return h
    unsettled = np.abs(step) >= STEP_TOLERANCE
    own = {
        name: np.broadcast_to(value, h.shape)[unsettled]
        for name, value in (
            ("nitrogen", nitrogen),
            ("carbon", carbon),
            ("acid_charge", acid_charge),
            ("strong", strong),
        )
    }
    settled = h.copy()
    settled[unsettled] = _bisect(
        **own,
        k=Equilibria(
            co2=np.broadcast_to(k.co2, h.shape)[unsettled],
            nh4=np.broadcast_to(k.nh4, h.shape)[unsettled],
            water=np.broadcast_to(k.water, h.shape)[unsettled],
            acid=k.acid,
            co2_in_equilibrium=np.broadcast_to(k.co2_in_equilibrium, h.shape)[unsettled],
        ),
    )
    return settled


def _bisect(
    nitrogen: Floats, carbon: Floats, acid_charge: Floats, strong: Floats, k: Equilibria
) -> Floats:
    low = np.full(nitrogen.shape, PH_LOWEST)
    high = np.full(nitrogen.shape, PH_HIGHEST)
    for _ in range(BISECTION_STEPS):
        middle = 0.5 * (low + high)
        too_acid = charge_excess(10**-middle, nitrogen, carbon, acid_charge, strong, k) > 0.0
        low = np.where(too_acid, middle, low)
        high = np.where(too_acid, high, middle)
    return np.asarray(10 ** -(0.5 * (low + high)))
