"""Does a tank bear its way back to the level it has proved? The rule against the process model.

What could go wrong with `proved_mean_vs_g`: it remembers a level for four weeks and lets a tank
that was fed half for three of them, a quarter for four, or nothing at all, come back faster than
15 % a week over what it last got. Its bacteria may be fewer than their feed record says. So each
course is lived by tanks of sixteen activities, from one that barely runs to a vigorous one,
beside the same tanks that were fed their level all along: none may sour on the way back that
does not sour by being fed on.
"""

from collections.abc import Callable
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest

from apps.digesters.core.absence_limits import level_vs_g
from apps.digesters.core.loading import FedDay
from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.simulate import SIX_HOURLY, DailyInputs, simulate
from apps.digesters.core.process.state import LOAD_ROWS, Floats, seeded_state
from apps.digesters.core.rules import read_rules
from apps.digesters.core.temperature_caps import olr_cap

FIRST = date(2029, 1, 1)
ACTIVITY = np.geomspace(0.3, 1.6, 16)
VS_PPM = {"household_kitchen": 210_000, "veg_market_mixed": 87_000}
SOUND_PH = 6.8
RULES = read_rules()

Feeds = list[FedDay]
Course = Callable[[Feeds, int], int]


def live(celsius: float, material: str, course: Course, days: int) -> tuple[Floats, Feeds]:
    """Lowest pH by tank in the last `days`, after a season in which each cubic metre was brought
    to nine tenths of its cap; and what it was fed."""
    level_g = round(900 * min(olr_cap(RULES, celsius)[0], RULES.value("olr_unbuffered")))
    state, fed = seeded_state((len(ACTIVITY),)), list[FedDay]()
    lowest = np.full(len(ACTIVITY), 14.0)
    for day in range(100 + days):
        vs_g = min(level_g, level_g // 2 + day * level_g // 120)
        if day >= 100:
            vs_g = course(fed, level_g)
        fresh_kg = vs_g / 1000 / (VS_PPM[material] / 1e6)
        portions = [Portion(fresh_kg, VS_PPM[material] / 1e6, fractions_of(material))]
        load, dilution = load_of(portions, fresh_kg * 7 / 3, 1.0)
        loads = np.zeros((1, LOAD_ROWS, len(ACTIVITY)))
        loads[0] = np.asarray(load)[:, None]
        results = simulate(
            state,
            DailyInputs(
                loads,
                np.full((1, len(ACTIVITY)), dilution),
                np.full((1, len(ACTIVITY)), celsius),
            ),
            activity=ACTIVITY,
            steps_per_day=SIX_HOURLY,
        )
        state = results.end
        fed.append(FedDay(FIRST + timedelta(days=day), round(fresh_kg * 1000), vs_g, 1))
        if day >= 100:
            lowest = np.minimum(lowest, results.ph[0])
    return lowest, fed


def fed_on(fed: Feeds, level_g: int) -> int:
    return level_g


@cache
def sound_when_fed_on(celsius: float, material: str, days: int) -> tuple[bool, ...]:
    return tuple((live(celsius, material, fed_on, days)[0] >= SOUND_PH).tolist())


@pytest.mark.parametrize("celsius", [20.0, 28.0])
@pytest.mark.parametrize("material", sorted(VS_PPM))
@pytest.mark.parametrize(("weeks", "percent"), [(3, 50), (4, 25), (3, 0)])
def test_no_tank_sours_on_its_way_back(
    celsius: float, material: str, weeks: int, percent: int
) -> None:
    days = weeks * 7 + 35

    def lean_then_back(fed: Feeds, level_g: int) -> int:
        on = fed[-1].on + timedelta(days=1)
        lean_until = FIRST + timedelta(days=100 + weeks * 7)
        if on < lean_until:
            return level_g * percent // 100
        away = None if percent else (FIRST + timedelta(days=100), lean_until - timedelta(days=1))
        used_to = level_vs_g(fed[-60:], on, away, 15.0, 25.0) or 0
        return min(level_g, round(1.15 * used_to))

    lowest, fed = live(celsius, material, lean_then_back, days)
    sound = np.array(sound_when_fed_on(celsius, material, days))
    assert sound.sum() >= 10
    assert (lowest[sound] >= SOUND_PH).all()
    # And the way back is walked: it ends near its level.
    assert fed[-1].vs_g >= 0.85 * fed[99].vs_g
