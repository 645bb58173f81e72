"""One time step of the process model: equations (1) to (13), semi-implicit and vectorised.

The two-step model is in the family of AM2 (Bernard et al. 2001, doi 10.1002/bit.10036) with
hydrolysis as in the reduced ADM1 of Weinrich & Nelles (2021, doi 10.1016/j.biortech.2021.125124).
T is slurry temperature [C]; every rate is per day at 35 C.

    (1)  f_h = exp(theta_h (T - 35))
    (2)  f_m = exp(theta_m (T - 35)) g(T) / g(35),   g(T) = 1 / (1 + exp(-(T - mid) / width))
    (3)  I1  = 1 / (1 + (H / 10^-pH_h)^2)            hydrolysis in acid
    (4)  I2  = 1 / (1 + (H / 10^-pH_m)^3)            methanogens in acid
    (5)  I3  = 1 / (1 + NH3 / K_NH3)                 methanogens in ammonia
    (6)  h   = k_f f_h I1 Xf + ah k_s f_h I1 Xs + phi k_d f_h Xd
    (7)  r   = am k_m f_m I2 I3 Xm S / (K_v + S)
    (8)  dS  = (1 - Ya)(1 - f) h - r                 q2 = (1 - Ya) f h goes to methane at once
    (9)  dXa = Ya h + Y2 q2 - b f_h Xa               dXm = Ym r - b f_h Xm
    (10) CH4 = (1 - Ym) r + (1 - Y2) q2              [kgCOD/m3/d]; 64 kgCOD to the kmol
    (11) dN, dC: what the solids release less what the cells, acids and gas take up
    (12) Z + NH4 + H = HCO3 + e S Ka / (Ka + H) + OH  solved for H
    (13) qCO2 = kLa (CO2 - K_H P qCO2 / (qCO2 + qCH4))  holder at constant pressure

Dead cells go to Xd. Every row is carried by the flow, D (in - x), implicitly. Two limits keep the
elements above zero for feeds no tank should see: cells stop growing when nitrogen runs out (what
they would have taken goes to acids or methane), and solids stop dissolving when the inorganic
carbon that their hydrogen needs runs out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from apps.digesters.core.process import chemistry
from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.state import (
    ACIDOGENS,
    ACIDS,
    CARBON,
    FAST,
    FAST_C,
    FAST_N,
    FIBRE,
    HYDROGEN_ION,
    INERT,
    LOAD_ROWS,
    METHANOGENS,
    NITROGEN,
    SLOW,
    SLOW_C,
    SLOW_N,
    STRONG_IONS,
    Floats,
)

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
    return DayConditions(
        step_d=step_d,
        inflow=load * step_d,
        dilution=1.0 / (1.0 + step_d * np.asarray(dilution_per_d, dtype=float)),
        fast=step_d * p.k_fast * f_h,
        slow=step_d * p.k_slow * f_h * hydrolysis,
        fibre=step_d * p.k_fibre * f_h,
        methanogen=step_d
        * p.k_methanogen
        * methanogen_temperature_factor(slurry_c, p)
        * np.asarray(activity),
        decayed=death / (1.0 + death),
        equilibria=chemistry.equilibria_at(slurry_c, p),
    )


class Dissolved(NamedTuple):
    """What the solids let go in one step [kgCOD/m3, kmol/m3]."""

    fast_share: Floats
    slow_share: Floats
    from_fast: Floats
    from_slow: Floats
    from_fibre: Floats
    cod: Floats  # all that becomes food for acidogens
    carbon_freed: Floats
    carbon_needed: Floats
    nitrogen_freed: Floats


def advance(x: Floats, day: DayConditions, p: ProcessParameters) -> tuple[Floats, Floats]:
    """Advance the state `x` (STATE_ROWS, ...) by one step, in place.

    Returns what left as gas in the step: methane and carbon dioxide [kmol per m3 of slurry].
    """
    k = day.equilibria
    hydrogen = x[HYDROGEN_ION]
    methane = _react(x, _dissolve(x, day, p), day, p)

    # Carried by the flow, implicitly.
    carried = x[:LOAD_ROWS]
    carried += day.inflow
    carried *= day.dilution

    carbon_dioxide = _stripped(x, methane, day, p)
    x[CARBON] -= carbon_dioxide
    x[HYDROGEN_ION] = chemistry.solve_hydrogen(
        hydrogen, x[NITROGEN], x[CARBON], p.acid_charge * x[ACIDS], x[STRONG_IONS], k
    )
    return methane, carbon_dioxide


def _dissolve(x: Floats, day: DayConditions, p: ProcessParameters) -> Dissolved:
    """Equations (3) and (6), each pool implicitly."""
    acid_ratio = x[HYDROGEN_ION] * 10**p.ph_half_hydrolysis
    in_acid = 1.0 / (1.0 + acid_ratio * acid_ratio)
    rate = day.fast * in_acid
    fast_share = rate / (1.0 + rate)
    rate = day.slow * in_acid
    slow_share = rate / (1.0 + rate)
    from_fast, from_slow = fast_share * x[FAST], slow_share * x[SLOW]
    from_fibre = day.fibre / (1.0 + day.fibre) * x[FIBRE]
    fibre_cod = p.fibre_degradable * from_fibre
    cod = from_fast + from_slow + fibre_cod
    freed = fast_share * x[FAST_C] + slow_share * x[SLOW_C] + p.c_fibre * fibre_cod
    needed = _carbon_per_dissolved(p) * cod
    lack = needed - freed
    lacking = lack > x[CARBON]
    if lacking.any():
        slowed = np.where(lacking, x[CARBON] / np.where(lacking, lack, 1.0), 1.0)
        fast_share, slow_share = fast_share * slowed, slow_share * slowed
        from_fast, from_slow = from_fast * slowed, from_slow * slowed
        from_fibre, cod = from_fibre * slowed, cod * slowed
        freed, needed = freed * slowed, needed * slowed
    nitrogen = (
        fast_share * x[FAST_N]
        + slow_share * x[SLOW_N]
        + p.n_fibre * p.fibre_degradable * from_fibre
    )
    return Dissolved(
        fast_share, slow_share, from_fast, from_slow, from_fibre, cod, freed, needed, nitrogen
    )


def _react(x: Floats, solids: Dissolved, day: DayConditions, p: ProcessParameters) -> Floats:
    """Equations (4), (5) and (7) to (11), in place; returns methane [kmol/m3]."""
    hydrogen = x[HYDROGEN_ION]
    nh4 = day.equilibria.nh4
    acid_ratio = hydrogen * 10**p.ph_half_methanogen
    ammonia = x[NITROGEN] * nh4 / (nh4 + hydrogen)
    inhibition = (1.0 + acid_ratio * acid_ratio * acid_ratio) * (1.0 + ammonia / p.ammonia_half)

    # (7) and (8): Patankar, the same uptake feeding cells and methane.
    hydrogen_cod = (1.0 - p.yield_acidogen) * p.hydrogen_share * solids.cod
    acids = x[ACIDS] + (1.0 - p.yield_acidogen) * (1.0 - p.hydrogen_share) * solids.cod
    pull = day.methanogen * x[METHANOGENS] / (inhibition * (p.half_saturation + x[ACIDS]))
    acids /= 1.0 + pull
    eaten = pull * acids

    # (9) to (11).
    grown_a = p.yield_acidogen * solids.cod
    grown_2 = p.yield_hydrogen * hydrogen_cod
    grown_m = p.yield_methanogen * eaten
    died_a, died_m = day.decayed * x[ACIDOGENS], day.decayed * x[METHANOGENS]
    died = died_a + died_m
    available = x[NITROGEN] + solids.nitrogen_freed + (p.n_biomass - p.n_fibre) * died
    wanted = p.n_biomass * (grown_a + grown_2 + grown_m)
    carbon_needed = solids.carbon_needed
    starved = wanted > available
    if starved.any():
        fed = np.where(starved, available / np.where(starved, wanted, 1.0), 1.0)
        acids += (1.0 - fed) * grown_a
        carbon_needed = carbon_needed + (1.0 - fed) * (
            grown_a * (p.c_acid - p.c_biomass) + grown_2 * (p.c_methane - p.c_biomass)
        )
        grown_a, grown_2, grown_m = fed * grown_a, fed * grown_2, fed * grown_m
        wanted = fed * wanted
    x[FAST] -= solids.from_fast
    x[SLOW] -= solids.from_slow
    x[FAST_N] -= solids.fast_share * x[FAST_N]
    x[SLOW_N] -= solids.slow_share * x[SLOW_N]
    x[FAST_C] -= solids.fast_share * x[FAST_C]
    x[SLOW_C] -= solids.slow_share * x[SLOW_C]
    x[FIBRE] += died - solids.from_fibre
    x[INERT] += (1.0 - p.fibre_degradable) * solids.from_fibre
    x[ACIDOGENS] += grown_a + grown_2 - died_a
    x[METHANOGENS] += grown_m - died_m
    x[ACIDS] = acids
    x[NITROGEN] = np.maximum(available - wanted, 0.0)
    x[CARBON] += (
        solids.carbon_freed
        - carbon_needed
        + p.c_acid * eaten
        - p.c_methane * (eaten - grown_m)
        - p.c_biomass * grown_m
        + (p.c_biomass - p.c_fibre) * died
    )
    np.maximum(x[CARBON], 0.0, out=x[CARBON])
    return np.asarray(p.c_methane * (eaten - grown_m + hydrogen_cod - grown_2))


def _carbon_per_dissolved(p: ProcessParameters) -> float:
    """Carbon that acids, cells and hydrogenotrophic methane take per kgCOD dissolved [kmol]."""
    kept = 1.0 - p.yield_acidogen
    return (
        p.yield_acidogen * p.c_biomass
        + kept * (1.0 - p.hydrogen_share) * p.c_acid
        + kept
        * p.hydrogen_share
        * ((1.0 - p.yield_hydrogen) * p.c_methane + p.yield_hydrogen * p.c_biomass)
    )


def _stripped(x: Floats, methane: Floats, day: DayConditions, p: ProcessParameters) -> Floats:
    """Equation (13), implicit in dissolved CO2: the non-negative root of its quadratic [kmol/m3].

    Bicarbonate is what the charges of the step's start ask for; it does not leave as gas.
    """
    k = day.equilibria
    hydrogen = x[HYDROGEN_ION]
    bicarbonate = (
        x[STRONG_IONS]
        + hydrogen
        + x[NITROGEN] * hydrogen / (hydrogen + k.nh4)
        - p.acid_charge * x[ACIDS] * k.acid / (k.acid + hydrogen)
        - k.water / hydrogen
    )
    dissolved = x[CARBON] - np.maximum(bicarbonate, 0.0)
    np.maximum(dissolved, 0.0, out=dissolved)
    transfer = day.step_d * p.kla
    a = 1.0 + transfer
    b = a * methane + transfer * (k.co2_in_equilibrium - dissolved)
    c = transfer * dissolved * methane
    root = (np.sqrt(b * b + 4.0 * a * c) - b) / (2.0 * a)
    return np.asarray(np.minimum(np.maximum(root, 0.0), dissolved))
