"""Materials as the planner sees them: what a gram fresh brings to a digester's limits."""

import math
from dataclasses import dataclass

from apps.feedstock.core.materials import Material
from apps.kernel.figures import finite

PPM = 1_000_000

SOLIDS_TARGET = 0.07
"""kg TS per kg slurry. GTZ 1989 s. 4.5 chose 7 % (read), within 4-8 % of Biogas Digest II p. 39."""

SOLIDS_TARGET_LOW, SOLIDS_TARGET_HIGH = 0.04, 0.08
"""kg TS per kg slurry fed: Biogas Digest Vol. II (GTZ/ISAT), p. 39 (read)."""


@dataclass(frozen=True)
class FeedCoefficients:
    """Per 10^6 g fresh: grams of VS, millilitres of slurry with its water.

    Both are rounded up, so that a sum of them never under-states a loading.
    """

    vs_ppm: int
    slurry_ppm: int


def feed_coefficients(material: Material, solids_target: float = SOLIDS_TARGET) -> FeedCoefficients:
    """Coefficients of ``material`` thinned to ``solids_target`` [kg TS per kg slurry].

    Slurry is taken at 1 kg/L: max(1, TS / target) mL per gram.
    """
    check_solids_target(solids_target)
    return FeedCoefficients(
        vs_ppm=_up(material.vs_share * PPM),
        slurry_ppm=_up(max(1.0, material.ts_share / solids_target) * PPM),
    )


def check_solids_target(solids_target: float) -> float:
    """Return the target when it lies within the published 4-8 %, else refuse it."""
    return finite(
        solids_target,
        "The solids target",
        "kg TS per kg slurry",
        low=SOLIDS_TARGET_LOW,
        high=SOLIDS_TARGET_HIGH,
    )


def _up(value: float) -> int:
    # A float a hair above a whole number is that number, not the next.
    return math.ceil(round(value, 6))
