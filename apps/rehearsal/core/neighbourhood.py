"""A neighbourhood to rehearse: what a group knows of itself, and changes to try on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from apps.rehearsal.core.supply import GivenStream
from apps.supply.core.day_effects import DayEffect


@dataclass(frozen=True, slots=True)
class GivenHome:
    """A home with a digester; `x_m`, `y_m`: metres from any corner; `own_waste_g` a day."""

    code: str
    x_m: float
    y_m: float
    volume_ml: int
    plate_feed_g: int
    plate_slurry_ml: int
    own_waste_g: int
    bin_g: int
    max_visits_per_day: int = 2
    carry_limit_g: int = 15_000
    min_pickup_g: int = 500


@dataclass(frozen=True, slots=True)
class GivenSource:
    """A source; its streams name it."""

    code: str
    x_m: float
    y_m: float
    max_homes_per_day: int = 2


@dataclass(frozen=True, slots=True)
class Away:
    """A home with nobody in it, first and last day included; known some days before."""

    home: str
    first_on: date
    last_on: date
    known_days_before: int = 7


@dataclass(frozen=True, slots=True)
class Neighbourhood:
    """What a rehearsal starts from. `air_normals_c`: twelve monthly means, January first."""

    name: str
    homes: tuple[GivenHome, ...]
    sources: tuple[GivenSource, ...]
    streams: tuple[GivenStream, ...]
    effects: tuple[DayEffect, ...]
    air_normals_c: tuple[float, ...]
    reach_m: int = 800
    detour: float = 1.3
    away: tuple[Away, ...] = ()
    rota_limit_days: int = 14

    def distance_m(self, source: GivenSource, home: GivenHome) -> int:
        """Metres on foot: the straight line times the detour."""
        line = math.hypot(source.x_m - home.x_m, source.y_m - home.y_m)
        return max(20, round(line * self.detour))

    def walks(self) -> dict[tuple[str, str], int]:
        """Metres of every (source, home) within reach."""
        metres = {
            (source.code, home.code): self.distance_m(source, home)
            for source in self.sources
            for home in self.homes
        }
        return {pair: m for pair, m in metres.items() if m <= self.reach_m}


@dataclass(frozen=True, slots=True)
class Change:
    """What is to be different. `joining` are homes; `sources` join with their `streams`;
    `leaving` are codes of homes and sources; `away` are further absences."""

    joining: tuple[GivenHome, ...] = ()
    sources: tuple[GivenSource, ...] = ()
    streams: tuple[GivenStream, ...] = ()
    leaving: frozenset[str] = frozenset()
    away: tuple[Away, ...] = ()

    def apply(self, hood: Neighbourhood) -> Neighbourhood:
        """The neighbourhood with the change made."""
        gone = self.leaving
        return replace(
            hood,
            homes=(*(each for each in hood.homes if each.code not in gone), *self.joining),
            sources=(*(each for each in hood.sources if each.code not in gone), *self.sources),
            streams=(*(each for each in hood.streams if each.source not in gone), *self.streams),
            away=(*hood.away, *self.away),
        )


KINDS = (
    ("stall", 0.40, (9, 9, 9, 9, 12, 16, 0), 0.35, ("veg_market_mixed", "leafy_greens"), 1),
    ("canteen", 0.15, (6, 6, 6, 6, 5, 0, 0), 0.25, ("potato_tuber_peel", "household_kitchen"), 0),
    ("shop", 0.15, (3, 3, 3, 3, 4, 5, 2), 0.30, ("fruit_mixed", "veg_market_mixed"), 1),
    ("household", 0.20, (1, 1, 1, 1, 1, 2, 2), 0.40, ("household_kitchen",), 1),
    ("garden", 0.10, (0, 0, 2, 0, 0, 5, 2), 0.60, ("leafy_greens",), 2),
)
"""Kind, share of the sources, kilograms by weekday, spread, materials, days kept. Assumed."""

HARBOUR_AIR_C = (17.0, 17.5, 19.0, 21.0, 23.5, 26.0, 27.5, 28.0, 26.5, 24.0, 21.0, 18.0)
"""Monthly means of an invented harbour town: warm enough for unheated tanks, with a cool season."""


def invent_neighbourhood(
    homes: int, sources: int, seed: int, *, first_on: date = date(2029, 1, 1)
) -> Neighbourhood:
    """An invented one: homes and sources on clustered streets, 20 homes a km2, tanks of 1 to
    3 m3 rated at 2.5 kg waste a m3 and day, two absences a home. All assumed."""
    draw = np.random.default_rng([seed, 7])
    side_m = 1000 * math.sqrt(homes / 20)
    streets = draw.uniform(0, side_m, (max(2, homes // 4), 2))

    def spot() -> tuple[float, float]:
        x, y = np.clip(streets[draw.integers(len(streets))] + draw.normal(0, 120, 2), 0, side_m)
        return float(x), float(y)

    made_homes = []
    for index in range(homes):
        x, y = spot()
        volume_ml = int(draw.choice([1_000_000, 1_500_000, 2_000_000, 3_000_000]))
        plate_g = round(volume_ml * 2.5 / 1000)
        made_homes.append(
            GivenHome(
                f"home-{index:02d}", x, y, volume_ml, plate_g, round(plate_g * 10 / 3),
                own_waste_g=int(draw.integers(300, 1000)), bin_g=max(8_000, 3 * plate_g),
            )
        )  # fmt: skip
    shares = np.array([kind[1] for kind in KINDS])
    made_sources, streams = [], []
    for index in range(sources):
        kind, _share, week, spread, materials, kept = KINDS[int(draw.choice(len(KINDS), p=shares))]
        x, y = spot()
        code = f"source-{index:02d}"
        made_sources.append(GivenSource(code, x, y))
        size = float(np.exp(draw.normal(-0.1, 0.45)))
        material = materials[int(draw.integers(len(materials)))]
        streams.append(
            GivenStream(
                f"{code}-stream", code, kind, material,
                tuple(round(1000 * kg * size) for kg in week), spread,
                kept_days=kept, feed_within_days=kept + 2,
            )
        )  # fmt: skip
    return Neighbourhood(
        f"invented {seed}",
        tuple(made_homes),
        tuple(made_sources),
        tuple(streams),
        usual_effects(first_on.year),
        HARBOUR_AIR_C,
        away=tuple(_absences(made_homes, first_on, draw)),
    )


def usual_effects(year: int) -> tuple[DayEffect, ...]:
    """Eight public holidays, the canteens' summer, a market's closing week, two festivals: an
    invented town's year."""
    holidays = ((1, 1), (3, 28), (5, 1), (6, 9), (8, 16), (10, 6), (11, 2), (12, 25))
    return (
        *(
            DayEffect(date(year, month, day), date(year, month, day), 0, frozenset(), True)
            for month, day in holidays
        ),
        DayEffect(date(year, 7, 23), date(year, 8, 31), 0, frozenset({"canteen"})),
        DayEffect(date(year, 2, 5), date(year, 2, 10), 0, frozenset({"stall"})),
        DayEffect(date(year, 6, 22), date(year, 6, 24), 220, frozenset({"stall", "shop"})),
        DayEffect(date(year, 9, 14), date(year, 9, 15), 200, frozenset({"stall"})),
    )


def _absences(homes: Sequence[GivenHome], first_on: date, draw: np.random.Generator) -> list[Away]:
    """A long one in summer and a short one, some said at the last moment."""
    out = []
    for home in homes:
        for start, length in ((int(draw.integers(170, 235)), int(draw.integers(7, 16))),
                              (int(draw.integers(0, 355)), int(draw.integers(2, 5)))):  # fmt: skip
            first = date.fromordinal(first_on.toordinal() + start)
            last = date.fromordinal(first.toordinal() + length - 1)
            out.append(Away(home.code, first, last, int(draw.choice([0, 1, 7, 14]))))
    return out
