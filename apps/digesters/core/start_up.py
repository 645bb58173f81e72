"""How a new digester is brought to its first flame and its full feed, one step after another.

Each step has its caution, the evidence asked for, and the days that must pass before it. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from apps.digesters.core.stages import Evidence, Stage, seed_digester
from apps.kernel.figures import FigureError, whole
from apps.kernel.words import gettext_noop

MOST_LOSS_PERCENT = 2
"""Water lost in a day, after soaking, at which a tank still counts as tight: GTZ 1989 s. 7.1."""

SLURRY_PARTS, SLURRY_WATER_PARTS = 1, 1
"""A healthy neighbour's slurry to water. Common practice, no source; at least a tenth of the
volume must be slurry (Voegeli 2014, from memory)."""


class StartStep(StrEnum):
    """The steps, in their order."""

    TIGHT = "tight"
    SEED = "seed"
    REST = "rest"
    VENT = "vent"
    FLAME = "flame"
    RAMP = "ramp"
    RAISE = "raise"
    RUN = "run"


@dataclass(frozen=True, slots=True)
class StepText:
    """One screen: title, what to do, the caution that belongs to it, what is asked for."""

    title: str
    todo: str
    caution: str
    evidence: str
    source: str
    stage: Stage
    """The stage in which the step is taken."""
    seen: frozenset[Evidence]
    goal: Stage | None = None
    """The stage that it leads to, if it leads to another."""


_NO_ENTRY = gettext_noop("Never climb or reach into the tank or its pit, even an empty one.")

STEPS: Mapping[StartStep, StepText] = MappingProxyType(
    {
        StartStep.TIGHT: StepText(
            gettext_noop("Is it tight?"),
            gettext_noop(
                "Fill it with water, let it soak, mark the level. Look again after a day. Spread "
                "soapy water over the gas joints and look for bubbles."
            ),
            _NO_ENTRY,
            gettext_noop("How many litres it lost in a day."),
            "GTZ 1989 s. 7.1",
            Stage.DRY,
            frozenset({Evidence.TIGHT}),
        ),
        StartStep.SEED: StepText(
            gettext_noop("Give it its bacteria"),
            gettext_noop(
                "Fill it to its working volume with fresh cattle dung and water, or with slurry "
                "from a healthy neighbour and water. Pick out straw and stones."
            ),
            gettext_noop(
                "Lift at most 15 kg at once; gloves on, wash your hands: dung carries germs."
            ),
            gettext_noop("What it was filled with, and that it is full."),
            gettext_noop("Common practice, no source (Biogas Digest II p. 39 has 1:3 to 2:1)"),
            Stage.DRY,
            frozenset({Evidence.TIGHT, Evidence.FILLED}),
            Stage.SEEDED,
        ),
        StartStep.REST: StepText(
            gettext_noop("Close it and let it rest"),
            gettext_noop("Close the gas valve. Feed nothing for 12 to 15 days. Watch the drum."),
            gettext_noop("Gas comes within days and holds air: light nothing, no phone near it."),
            gettext_noop("The day on which it was closed."),
            gettext_noop(
                "Common practice, no source; Biogas Digest II p. 7: add no biomass while starting"
            ),
            Stage.SEEDED,
            frozenset(),
            Stage.RESTING,
        ),
        StartStep.VENT: StepText(
            gettext_noop("Let the first holder out"),
            gettext_noop(
                "When the holder is full, let all of it out in the open, away from fire and "
                "windows. Close the valve and let it fill again."
            ),
            gettext_noop(
                "The first gas holds air and can explode: let it out, never light it. Stay "
                "upwind; it is poisonous to breathe."
            ),
            gettext_noop("The day on which the whole first holder was let out, unlit."),
            "FAO Better Farming 31 (1984) paras 98-102",
            Stage.RESTING,
            frozenset({Evidence.FIRST_GAS_VENTED}),
        ),
        StartStep.FLAME: StepText(
            gettext_noop("The first flame"),
            gettext_noop(
                "With the second holder: try it at the burner indoors, valve half open, window "
                "open, through at least 20 m of line or a flame trap. It does not burn? Let it "
                "out and wait for the next."
            ),
            gettext_noop(
                "Have the line and the burner looked at by a licensed person before. Never hold "
                "a flame to the digester or the drum."
            ),
            gettext_noop("That it burns with a steady blue flame."),
            gettext_noop("Harris (Adelaide) biogas safety page: 20 m of line or a proper trap"),
            Stage.RESTING,
            frozenset({Evidence.FIRST_GAS_VENTED, Evidence.GAS_BURNS}),
        ),
        StartStep.RAMP: StepText(
            gettext_noop("The first feed"),
            gettext_noop("A quarter of its feed for a week. Keep a pH strip each week."),
            gettext_noop("A doubled day is what sours digesters: no more than the recipe says."),
            gettext_noop("A pH strip that shows 6.8 or more, and the days of rest."),
            gettext_noop("Voegeli et al. 2014: 25-50-75-100 % (from memory)"),
            Stage.RESTING,
            frozenset(
                {
                    Evidence.RESTED,
                    Evidence.FIRST_GAS_VENTED,
                    Evidence.GAS_BURNS,
                    Evidence.PH_GOOD,
                }
            ),
            Stage.RAMPING,
        ),
        StartStep.RAISE: StepText(
            gettext_noop("A step up"),
            gettext_noop("After a week that went well: half, then three quarters, then all."),
            gettext_noop("It smells sour or the flame fails? Stop, and take a pH strip."),
            gettext_noop("That the gas burns, and a pH strip that shows 6.8 or more."),
            gettext_noop("Voegeli et al. 2014: 25-50-75-100 % (from memory)"),
            Stage.RAMPING,
            frozenset({Evidence.GAS_BURNS, Evidence.PH_GOOD}),
        ),
        StartStep.RUN: StepText(
            gettext_noop("It runs"),
            gettext_noop("It took the full feed for a week and stayed well."),
            gettext_noop("Close the valves each night; look for leaks with soapy water only."),
            gettext_noop("A full week, a flame, a good strip, no sour smell."),
            gettext_noop("Common practice, no source; valves: GTZ 1989 s. 7.5"),
            Stage.RAMPING,
            frozenset(
                {
                    Evidence.FULL_RAMP,
                    Evidence.GAS_BURNS,
                    Evidence.PH_GOOD,
                    Evidence.NO_SOUR_SMELL,
                }
            ),
            Stage.RUNNING,
        ),
    }
)

RAISES = 3
"""Steps up between the first feed and running."""


def is_tight(working_volume_ml: int, lost_ml: int, hours: int) -> bool:
    """Whether a filled and soaked tank lost less than 2 % of its volume a day.

    Raises FigureError for a test under 12 hours, which tells nothing (ours).
    """
    whole(working_volume_ml, "The working volume", "millilitres", low=1)
    whole(lost_ml, "What was lost", "millilitres")
    whole(hours, "The test", "hours", low=1)
    if hours < 12:
        raise FigureError(f"{hours} h tell nothing: leave it for a day and look again.")
    return lost_ml * 24 * 100 < MOST_LOSS_PERCENT * working_volume_ml * hours


@dataclass(frozen=True, slots=True)
class Filling:
    """What to fill it with: dung and water, or slurry and water."""

    dung_g: int
    dung_water_ml: int
    slurry_ml: int
    slurry_water_ml: int


def first_filling(working_volume_ml: int) -> Filling:
    """Both ways to seed, up to the working volume."""
    seeding = seed_digester(working_volume_ml)
    slurry_ml = working_volume_ml * SLURRY_PARTS // (SLURRY_PARTS + SLURRY_WATER_PARTS)
    return Filling(
        dung_g=seeding.dung_g,
        dung_water_ml=seeding.water_ml,
        slurry_ml=slurry_ml,
        slurry_water_ml=working_volume_ml - slurry_ml,
    )
