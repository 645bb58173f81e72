"""The hidden year that every policy lives through: the same rain, the same forgetting."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from apps.digesters.core.process.ensemble import FACTOR_MEDIAN, FACTOR_SD
from apps.feedstock.core.feeds import feed_coefficients
from apps.feedstock.core.materials import Material
from apps.rehearsal.core.neighbourhood import Neighbourhood
from apps.rehearsal.core.supply import SupplyYear, draw_supply
from apps.rehearsal.core.weather import draw_air_c

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

NO_SHOW = 0.04
"""Chance that a home does not make a walk it said it would. Assumed."""
LATE = 0.25
"""Part of these who say so too late for anybody else to go. Assumed."""
SAYS_AHEAD, SAYS_AFTER = 0.4, 0.85
"""Chances that a source says the evening before what it will have, and after what it had."""
DOUBLED, OIL = 0.01, 0.0015
"""Chances a day of feeding twice the day's feed, and of tipping in a bucket of oil."""
OIL_G = 9_000
"""A bucket of ten litres at 0.92 kg/L."""
SLURRY_LAG_DAYS = 10.0
ACTIVITY_SD = 0.3
"""Standard deviation (ln) of the true activity of tanks that have run for a season; narrower than
the filter's belief, which is of any tank. Assumed."""
LEAST_ACTIVITY = 0.35
"""A tank less active than this sours in its first season on half a plate (seen here, by this
model), so that none is among those that run."""
STRIP_SD = 0.12
"""Standard deviation of a pH strip before it is read to a quarter. Assumed."""


@dataclass(frozen=True, slots=True)
class World:
    """Arrays by day and home or stream. `slurry_c` true temperatures; `activity`, `strength`:
    hidden factors of each digester; `doubled`, `oil`: mistakes; `takes_call`: whether a home
    that is asked at short notice says yes; `known_away[day, home]`: days before which an
    absence of that day is known, -1 when nobody is away."""

    hood: Neighbourhood
    first_on: date
    days: int
    supply: SupplyYear
    air_c: Floats
    slurry_c: Floats
    own_g: NDArray[np.int64]
    away: Flags
    known_days_before: NDArray[np.int64]
    no_show: Flags
    too_late: Flags
    says_ahead: Flags
    says_after: Flags
    doubled: Flags
    oil: Flags
    takes_call: Flags
    strip_noise: Floats
    activity: Floats
    strength: Floats
    materials: dict[str, Material]

    def on(self, day: int) -> date:
        """The date of a day of the year."""
        return self.first_on + timedelta(days=day)

    def vs_ppm(self, material: str) -> int:
        """Grams of volatile solids in 10^6 g."""
        return feed_coefficients(self.materials[material]).vs_ppm

    def slurry_ppm(self, material: str) -> int:
        """Millilitres of slurry of 10^6 g."""
        return feed_coefficients(self.materials[material]).slurry_ppm


OWN_MATERIAL = "household_kitchen"


def draw_world(
    hood: Neighbourhood,
    materials: dict[str, Material],
    *,
    first_on: date,
    days: int,
    seed: int,
    careless: float = 1.0,
) -> World:
    """The year of one seed. `careless` multiplies the mistakes. A home draws from a generator
    named by its code, so that a change elsewhere leaves its own year alone."""
    supply = draw_supply(hood.streams, first_on, days, hood.effects, seed=seed)
    air = draw_air_c(hood.air_normals_c, first_on, days, np.random.default_rng([seed, 3]))
    homes = len(hood.homes)
    shape = (days, homes)
    own_g, strip = np.zeros(shape, dtype=np.int64), np.zeros(shape)
    chance = {name: np.zeros(shape) for name in ("show", "late", "double", "oil", "call")}
    activity, strength = np.ones(homes), np.ones(homes)
    away, known = np.zeros(shape, dtype=bool), np.full(shape, -1, dtype=np.int64)
    for index, home in enumerate(hood.homes):
        draw = np.random.default_rng([seed, 4, *home.code.encode()])
        drawn_activity = np.exp(np.log(FACTOR_MEDIAN[1]) + ACTIVITY_SD * draw.normal())
        activity[index] = max(LEAST_ACTIVITY, drawn_activity)
        strength[index] = np.exp(FACTOR_SD[0] / 2 * draw.normal())
        drawn = home.own_waste_g * np.exp(draw.normal(-0.05, 0.35, days))
        for column in chance.values():
            column[:, index] = draw.random(days)
        strip[:, index] = draw.normal(0, STRIP_SD, days)
        for absence in hood.away:
            if absence.home == home.code:
                start = (absence.first_on - first_on).days
                stop = (absence.last_on - first_on).days + 1
                away[max(0, start) : max(0, stop), index] = True
                known[max(0, start) : max(0, stop), index] = absence.known_days_before
        own_g[:, index] = np.where(away[:, index], 0, np.rint(drawn)).astype(np.int64)
    said = np.random.default_rng([seed, 5]).random((2, *supply.amounts_g.shape))
    return World(
        hood=hood,
        first_on=first_on,
        days=days,
        supply=supply,
        air_c=air,
        slurry_c=np.repeat(_slurry_c(air)[:, None], homes, axis=1),
        own_g=own_g,
        away=away,
        known_days_before=known,
        no_show=chance["show"] < NO_SHOW,
        too_late=chance["late"] < LATE,
        says_ahead=said[0] < SAYS_AHEAD,
        says_after=said[1] < SAYS_AFTER,
        doubled=chance["double"] < DOUBLED * careless,
        oil=chance["oil"] < OIL * careless,
        takes_call=chance["call"] < 0.6,
        strip_noise=strip,
        activity=activity,
        strength=strength,
        materials=materials,
    )


def _slurry_c(air_c: Floats) -> Floats:
    """A first-order lag behind the air."""
    out = np.empty_like(air_c)
    out[0] = air_c[0]
    for day in range(1, len(air_c)):
        out[day] = out[day - 1] + (air_c[day] - out[day - 1]) / SLURRY_LAG_DAYS
    return out
