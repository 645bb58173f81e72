"""What each digester may take on each day, by the service's own rules."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from apps.digesters.core.day_limits import DayLimits
from apps.digesters.core.facts import DayConditions, DigesterFacts
from apps.digesters.core.limits import feed_limits
from apps.digesters.core.rules import LimitRules, read_rules
from apps.digesters.core.stages import Stage
from apps.rehearsal.core.neighbourhood import GivenHome
from apps.rehearsal.core.world import World

LONG_FED = 10**7
"""A stable mean [g VS] under which no rise binds: the range by which every policy is judged."""


@cache
def rules() -> LimitRules:
    """The published table, read once."""
    return read_rules()


@dataclass(frozen=True, slots=True)
class Standing:
    """What a policy knows of one digester when it asks for limits."""

    stage: Stage = Stage.RUNNING
    stage_days: int = 0
    stable_mean_vs_g: int | None = LONG_FED
    stable_median_vs_g: int | None = None
    recovering_from: str = ""
    ph_strip: float | None = None
    away: bool = False


def limits_of(
    world: World, home: GivenHome, day: int, coldest_c: float, standing: Standing
) -> DayLimits:
    """The day's limits at the coldest slurry expected."""
    facts = DigesterFacts(
        code=home.code,
        working_volume_ml=home.volume_ml,
        plate_feed_g=home.plate_feed_g,
        plate_slurry_ml=home.plate_slurry_ml,
        stage=standing.stage,
        stage_days=standing.stage_days,
        confirmed_steps=standing.stage_days // 7,
        stable_mean_vs_g=standing.stable_mean_vs_g,
        stable_median_vs_g=standing.stable_median_vs_g,
        recovering_from=standing.recovering_from,
    )
    conditions = DayConditions(
        on=world.on(day), coldest_slurry_c=round(coldest_c, 2), ph_strip=standing.ph_strip
    )
    return feed_limits(facts, conditions, rules())


def true_coldest_c(world: World, home: int, day: int) -> float:
    """Coldest true slurry of the next seven days."""
    return float(world.slurry_c[day : day + 7, home].min())


def judged_limits(world: World, home: int, day: int) -> DayLimits:
    """The feed range by which every policy is judged: true temperatures, a digester that runs
    well. The day a home is away the minimum does not count (see ``figures``)."""
    return limits_of(
        world, world.hood.homes[home], day, true_coldest_c(world, home, day), Standing()
    )
