"""What reacts in one step: fibre crumbles, solids dissolve, cells eat and grow.

Equations (3) to (14) of `step`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from apps.digesters.core.process.conditions import DayConditions
from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.state import (
    ACIDOGENS,
    ACIDS,
    CARBON,
    FAST,
    FAST_C,
    FAST_N,
    FAT_EATERS,
    FIBRE,
    HIGHER_ACIDS,
    HYDROGEN_ION,
    INERT,
    LONG_ACIDS,
    METHANOGENS,
    NITROGEN,
    SLOW,
    SLOW_C,
    SLOW_FAT,
    SLOW_N,
    Floats,
)
from apps.digesters.core.process.stoichiometry import (
    carbon_per_dissolved,
    carbon_per_fat,
    carbon_per_higher,
)


class Dissolved(NamedTuple):
    """What the solids let go in one step [kgCOD/m3, kmol/m3]; `in_acid` is I1 [-]."""

    in_acid: Floats
    fast_share: Floats
    slow_share: Floats
    fat: Floats  # long-chain acids
    cod: Floats  # the rest: food for acidogens
    carbon_freed: Floats
    carbon_needed: Floats
    nitrogen_freed: Floats


class Eaten(NamedTuple):
    """What is left of the acids after one step, and what was eaten [kgCOD/m3]."""

    higher_left: Floats
    long_left: Floats
    acids_left: Floats
    higher: Floats
    fat: Floats
    acetic: Floats
    hydrogen: Floats  # made on the way, and at once methane
    carbon_needed: Floats  # of all that was dissolved and eaten but acetic acid [kmol/m3]


def crumble(x: Floats, day: DayConditions, p: ProcessParameters) -> None:
    """Equation (6), in place and implicitly; the rest becomes what nothing eats."""
    crumbled = day.fibre / (1.0 + day.fibre) * x[FIBRE]
    left = (1.0 - p.fibre_degradable) * crumbled
    x[FIBRE] -= crumbled
    x[INERT] += left
    x[SLOW] += crumbled - left
    x[SLOW_FAT] += p.fibre_fat * crumbled
    x[SLOW_N] += p.n_fibre * crumbled - p.n_inert * left
    x[SLOW_C] += p.c_fibre * crumbled - p.c_inert * left


def dissolve(x: Floats, day: DayConditions, p: ProcessParameters) -> Dissolved:
    """Equations (3) and (7), each pool implicitly."""
    acid_ratio = x[HYDROGEN_ION] * 10**p.ph_half_hydrolysis
    in_acid = 1.0 / (1.0 + acid_ratio * acid_ratio)
    rate = day.fast * in_acid
    fast_share = rate / (1.0 + rate)
    rate = day.slow * in_acid
    slow_share = rate / (1.0 + rate)
    fat = slow_share * x[SLOW_FAT]
    cod = fast_share * x[FAST] + slow_share * x[SLOW] - fat
    freed = fast_share * x[FAST_C] + slow_share * x[SLOW_C]
    needed = carbon_per_dissolved(p) * cod + p.c_long_acid * fat
    lack = needed - freed
    lacking = lack > x[CARBON]
    if lacking.any():
        slowed = np.where(lacking, x[CARBON] / np.where(lacking, lack, 1.0), 1.0)
        fast_share, slow_share = fast_share * slowed, slow_share * slowed
        fat, cod = fat * slowed, cod * slowed
        freed, needed = freed * slowed, needed * slowed
    nitrogen = fast_share * x[FAST_N] + slow_share * x[SLOW_N]
    return Dissolved(in_acid, fast_share, slow_share, fat, cod, freed, needed, nitrogen)


def eat(x: Floats, solids: Dissolved, day: DayConditions, p: ProcessParameters) -> Eaten:
    """Equations (4), (5) and (8) to (11); changes nothing."""
    # (8) by Patankar; what becomes of these acids needs inorganic carbon.
    kept = (1.0 - p.yield_acidogen) * solids.cod
    higher = x[HIGHER_ACIDS] + p.higher_share * kept
    pull = day.higher * solids.in_acid * x[METHANOGENS] / (p.half_higher + x[HIGHER_ACIDS])
    eaten_higher = pull / (1.0 + pull) * higher
    long_acids = x[LONG_ACIDS] + solids.fat
    pull = day.fat_eater * solids.in_acid * x[FAT_EATERS] / (p.half_fat + x[LONG_ACIDS])
    eaten_fat = pull / (1.0 + pull) * long_acids
    wanted_carbon = carbon_per_higher(p) * eaten_higher + carbon_per_fat(p) * eaten_fat
    spare_carbon = x[CARBON] + solids.carbon_freed - solids.carbon_needed
    lacking = wanted_carbon > spare_carbon
    if lacking.any():
        slowed = np.where(
            lacking, np.maximum(spare_carbon, 0.0) / np.where(lacking, wanted_carbon, 1.0), 1.0
        )
        eaten_higher, eaten_fat = eaten_higher * slowed, eaten_fat * slowed
        wanted_carbon = wanted_carbon * slowed
    carbon_needed = solids.carbon_needed + wanted_carbon

    hydrogen = x[HYDROGEN_ION]
    nh4 = day.equilibria.nh4
    acid_ratio = hydrogen * 10**p.ph_half_methanogen
    ammonia = x[NITROGEN] * nh4 / (nh4 + hydrogen)
    inhibition = (1.0 + acid_ratio * acid_ratio * acid_ratio) * (1.0 + ammonia / p.ammonia_half)

    # (9) to (11): Patankar, the same uptake feeding cells and methane.
    kept_higher = (1.0 - p.yield_higher) * eaten_higher
    kept_fat = (1.0 - p.yield_fat) * eaten_fat
    hydrogen_cod = (
        p.hydrogen_share * kept + p.hydrogen_of_higher * kept_higher + p.hydrogen_of_fat * kept_fat
    )
    acids = (
        x[ACIDS]
        + (1.0 - p.hydrogen_share - p.higher_share) * kept
        + (1.0 - p.hydrogen_of_higher) * kept_higher
        + (1.0 - p.hydrogen_of_fat) * kept_fat
    )
    pull = day.methanogen * x[METHANOGENS] / (inhibition * (p.half_saturation + x[ACIDS]))
    acids /= 1.0 + pull
    eaten = pull * acids
    return Eaten(
        higher - eaten_higher, long_acids - eaten_fat, acids,
        eaten_higher, eaten_fat, eaten, hydrogen_cod, carbon_needed,
    )  # fmt: skip


def grow(
    x: Floats, solids: Dissolved, eaten: Eaten, day: DayConditions, p: ProcessParameters
) -> Floats:
    """Equations (12) to (14), in place; returns methane [kmol/m3]."""
    acids, carbon_needed = eaten.acids_left, eaten.carbon_needed
    grown_a = p.yield_acidogen * solids.cod + p.yield_higher * eaten.higher
    grown_2 = p.yield_hydrogen * eaten.hydrogen
    grown_f = p.yield_fat * eaten.fat
    grown_m = p.yield_methanogen * eaten.acetic
    died_a, died_m = day.decayed * x[ACIDOGENS], day.decayed * x[METHANOGENS]
    died_f = day.decayed * x[FAT_EATERS]
    died = died_a + died_m + died_f
    available = x[NITROGEN] + solids.nitrogen_freed + (p.n_biomass - p.n_fibre) * died
    wanted = p.n_biomass * (grown_a + grown_2 + grown_f + grown_m)
    starved = wanted > available
    if starved.any():
        fed = np.where(starved, available / np.where(starved, wanted, 1.0), 1.0)
        acids = acids + (1.0 - fed) * (grown_a + grown_f)
        carbon_needed = carbon_needed + (1.0 - fed) * (
            (grown_a + grown_f) * (p.c_acid - p.c_biomass) + grown_2 * (p.c_methane - p.c_biomass)
        )
        grown_a, grown_2 = fed * grown_a, fed * grown_2
        grown_f, grown_m = fed * grown_f, fed * grown_m
        wanted = fed * wanted
    x[FAST] -= solids.fast_share * x[FAST]
    x[SLOW] -= solids.slow_share * x[SLOW]
    x[FAST_N] -= solids.fast_share * x[FAST_N]
    x[SLOW_N] -= solids.slow_share * x[SLOW_N]
    x[SLOW_FAT] -= solids.fat
    x[FAST_C] -= solids.fast_share * x[FAST_C]
    x[SLOW_C] -= solids.slow_share * x[SLOW_C]
    x[FIBRE] += died
    x[ACIDOGENS] += grown_a + grown_2 - died_a
    x[METHANOGENS] += grown_m - died_m
    x[HIGHER_ACIDS] = eaten.higher_left
    x[LONG_ACIDS] = eaten.long_left
    x[FAT_EATERS] += grown_f - died_f
    x[ACIDS] = acids
    x[NITROGEN] = np.maximum(available - wanted, 0.0)
    x[CARBON] += (
        solids.carbon_freed
        - carbon_needed
        + p.c_acid * eaten.acetic
        - p.c_methane * (eaten.acetic - grown_m)
        - p.c_biomass * grown_m
        + (p.c_biomass - p.c_fibre) * died
    )
    np.maximum(x[CARBON], 0.0, out=x[CARBON])
    return np.asarray(p.c_methane * (eaten.acetic - grown_m + eaten.hydrogen - grown_2))
