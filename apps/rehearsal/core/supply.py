"""What the sources of a rehearsed year really have, day by day, hidden from every policy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from apps.rehearsal.core.weather import draw_rain, season_wave
from apps.supply.core.day_effects import DayEffect, percent_on

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class GivenStream:
    """A stream as the group knows it: ``by_weekday_g`` declared grams, Monday first."""

    code: str
    source: str
    kind: str
    material: str
    by_weekday_g: tuple[int, ...]
    spread_share: float = 0.3
    kept_days: int = 0
    feed_within_days: int = 2
    is_divisible: bool = True


@dataclass(frozen=True, slots=True)
class KindHabits:
    """How a kind of source varies; all assumed. ``wave``: part by which the season moves it;
    ``peak_day`` of the year; ``rain``: part left on a wet day; ``no_show``: chance that it has
    nothing at all; ``changes``, ``stops``: chance a year that it changes goods, or ends."""

    wave: float
    peak_day: int
    rain: float
    no_show: float
    changes: float
    stops: float


HABITS = {
    "stall": KindHabits(0.25, 220, 0.75, 0.05, 0.35, 0.04),
    "canteen": KindHabits(0.10, 30, 1.0, 0.02, 0.15, 0.01),
    "shop": KindHabits(0.10, 350, 0.95, 0.03, 0.15, 0.02),
    "household": KindHabits(0.10, 200, 1.0, 0.08, 0.10, 0.04),
    "garden": KindHabits(0.70, 160, 0.60, 0.10, 0.10, 0.02),
}
STRIKES_A_YEAR, STRIKE_DAYS = 1.5, 3
STRIKE_KINDS = ("stall", "canteen")
DRIFT = 0.015
"""Standard deviation of the daily step of a stream's own level (ln). Assumed."""
PULL = 0.01
"""Part of that drift lost each day."""
UNRELIABLE, UNRELIABLE_TIMES = 0.15, 4.0
"""Part of the sources that fail this many times as often as their kind."""
MISDECLARED = 0.25
"""Standard deviation (ln) of what a stream has over what its source believes."""


@dataclass(frozen=True, slots=True)
class SupplyYear:
    """``amounts_g[day, stream]``; ``ends_on_day``: by stream, the day it stops for good, or the
    year's length; ``changed_on_days``: by stream, days on which it changed goods."""

    first_on: date
    streams: tuple[GivenStream, ...]
    amounts_g: Ints
    wet: NDArray[np.bool_]
    changed_on_days: tuple[tuple[int, ...], ...]


def draw_supply(
    streams: Sequence[GivenStream],
    first_on: date,
    days: int,
    effects: Sequence[DayEffect] = (),
    *,
    seed: int,
) -> SupplyYear:
    """One year of true amounts. Each stream draws from its own generator, named by its code, so
    that another stream joining changes nothing of the others."""
    common = np.random.default_rng([seed, 1])
    wet = draw_rain(days, common)
    on_strike = _draw_strikes(days, common)
    columns, changes = [], []
    for stream in streams:
        draw = np.random.default_rng([seed, 2, *stream.code.encode()])
        amounts, changed = _draw_stream(stream, first_on, days, wet, draw)
        shut = [
            percent_on(effects, stream.kind, first_on + timedelta(days=day)) for day in range(days)
        ]
        amounts = amounts * np.array(shut) / 100
        if stream.kind in STRIKE_KINDS:
            amounts = np.where(on_strike, 0.0, amounts)
        columns.append(np.rint(amounts).astype(np.int64))
        changes.append(changed)
    table = np.stack(columns, axis=1) if columns else np.zeros((days, 0), dtype=np.int64)
    return SupplyYear(first_on, tuple(streams), table, wet, tuple(changes))


def _draw_stream(
    stream: GivenStream,
    first_on: date,
    days: int,
    wet: NDArray[np.bool_],
    draw: np.random.Generator,
) -> tuple[NDArray[np.float64], tuple[int, ...]]:
    habits = HABITS[stream.kind]
    weekdays = np.array([(first_on + timedelta(days=day)).weekday() for day in range(days)])
    week = np.array(stream.by_weekday_g, dtype=float)
    own_week = week * np.exp(draw.normal(0, 0.15, 7))
    level = np.full(days, np.exp(draw.normal(-(MISDECLARED**2) / 2, MISDECLARED)))
    pattern = np.tile(own_week, (days, 1))
    changed: list[int] = []
    if draw.random() < habits.changes * days / 365:
        at = int(draw.integers(0, days))
        changed.append(at)
        level[at:] *= np.exp(draw.normal(0, 0.6))
        if draw.random() < 0.5:
            pattern[at:] = draw.permutation(own_week)
    if draw.random() < habits.stops * days / 365:
        level[int(draw.integers(days // 3, days)) :] = 0.0
    drift = np.zeros(days)
    steps = draw.normal(0, DRIFT, days)
    for day in range(1, days):
        drift[day] = (1 - PULL) * drift[day - 1] + steps[day]
    spread = float(np.log1p(stream.spread_share**2) ** 0.5)
    noise = draw.normal(0, spread, days)
    noise[1:] = 0.25 * noise[:-1] + (1 - 0.25**2) ** 0.5 * noise[1:]
    chance = habits.no_show * (UNRELIABLE_TIMES if draw.random() < UNRELIABLE else 1.0)
    shown = draw.random(days) >= min(chance, 0.6)
    season = 1 + habits.wave * season_wave(first_on, days, habits.peak_day)
    rain = np.where(wet, habits.rain, 1.0)
    amounts = (
        pattern[np.arange(days), weekdays]
        * level
        * season
        * rain
        * shown
        * np.exp(drift + noise - spread**2 / 2)
    )
    return amounts, tuple(changed)


def _draw_strikes(days: int, draw: np.random.Generator) -> NDArray[np.bool_]:
    struck = np.zeros(days, dtype=bool)
    for _ in range(int(draw.poisson(STRIKES_A_YEAR * days / 365))):
        at = int(draw.integers(0, days))
        struck[at : at + STRIKE_DAYS] = True
    return struck
