"""The stages of a digester's life and the steps between them."""

from dataclasses import dataclass
from enum import Enum

from apps.kernel.figures import FigureError, finite, whole
from apps.kernel.sentences import Sentence, gettext_noop


class Stage(Enum):
    """Where a digester is in its life."""

    DRY = gettext_noop("dry")
    SEEDED = gettext_noop("seeded")
    RESTING = gettext_noop("resting")
    RAMPING = gettext_noop("ramping")
    RUNNING = gettext_noop("running")
    PAUSED = gettext_noop("paused")
    RECOVERING = gettext_noop("recovering")
    CLOSED = gettext_noop("closed")


UNFED = frozenset({Stage.DRY, Stage.SEEDED, Stage.RESTING, Stage.PAUSED, Stage.CLOSED})
"""Stages in which no waste is fed."""


class Evidence(Enum):
    """What somebody saw, and vouches for, before a digester may go on."""

    TIGHT = gettext_noop("Water-filled, it lost less than 2 % of its volume in a day.")
    FILLED = gettext_noop("It is filled to its working volume with dung and water.")
    RESTED = gettext_noop("It has rested without waste for the days asked.")
    FIRST_GAS_VENTED = gettext_noop("The whole first holder was vented away from fire, unlit.")
    GAS_BURNS = gettext_noop("The gas burns with a steady flame.")
    PH_GOOD = gettext_noop("A pH strip shows 6.8 or more.")
    NO_SOUR_SMELL = gettext_noop("It does not smell sour.")
    FULL_RAMP = gettext_noop("It took the full feed for a week and stayed well.")
    HOME_AGREES = gettext_noop("The household agrees and somebody is there to feed it.")
    SOURED = gettext_noop("A pH strip, the smell or the flame says that it soured.")
    EMPTIED = gettext_noop("It was emptied and vented by trained people.")


_VENT = gettext_noop(
    "The first gas holds air and can explode: vent the first holder outdoors, light nothing."
)
_NO_ENTRY = gettext_noop("Never climb into a digester or its pit, even an empty one.")
_LEAKS = gettext_noop("Look for leaks with soapy water, never with a flame.")
_SLOW = gettext_noop("Raise the feed step by step: a doubled day is what sours digesters.")


@dataclass(frozen=True)
class Transition:
    """A step from one stage to another, the evidence it needs, and its caution."""

    origin: Stage
    goal: Stage
    evidence: frozenset[Evidence]
    caution: str


def _step(origin: Stage, goal: Stage, caution: str, *evidence: Evidence) -> Transition:
    return Transition(origin, goal, frozenset(evidence), caution)


_WELL = (Evidence.GAS_BURNS, Evidence.PH_GOOD, Evidence.NO_SOUR_SMELL)

TRANSITIONS: tuple[Transition, ...] = (
    _step(Stage.DRY, Stage.SEEDED, _LEAKS, Evidence.TIGHT, Evidence.FILLED),
    _step(Stage.SEEDED, Stage.RESTING, _VENT),
    _step(
        Stage.RESTING, Stage.RAMPING, _VENT,
        Evidence.RESTED, Evidence.FIRST_GAS_VENTED, Evidence.GAS_BURNS, Evidence.PH_GOOD,
    ),
    _step(Stage.RAMPING, Stage.RUNNING, _SLOW, Evidence.FULL_RAMP, *_WELL),
    _step(Stage.RAMPING, Stage.PAUSED, _LEAKS),
    _step(Stage.RAMPING, Stage.RECOVERING, _SLOW, Evidence.SOURED),
    _step(Stage.RUNNING, Stage.PAUSED, _LEAKS),
    _step(Stage.RUNNING, Stage.RECOVERING, _SLOW, Evidence.SOURED),
    _step(Stage.PAUSED, Stage.RECOVERING, _SLOW, Evidence.HOME_AGREES),
    _step(Stage.RECOVERING, Stage.RAMPING, _SLOW, *_WELL),
    _step(Stage.RECOVERING, Stage.RUNNING, _SLOW, Evidence.FULL_RAMP, *_WELL),
    _step(Stage.RECOVERING, Stage.PAUSED, _LEAKS),
    # A digester that soured past saving is emptied and seeded again.
    _step(Stage.RECOVERING, Stage.DRY, _NO_ENTRY, Evidence.EMPTIED),
    *(_step(stage, Stage.CLOSED, _NO_ENTRY) for stage in Stage if stage is not Stage.CLOSED),
    _step(Stage.CLOSED, Stage.DRY, _NO_ENTRY, Evidence.EMPTIED, Evidence.HOME_AGREES),
)  # fmt: skip
"""Every step there is. Its evidence is common practice, no source, but for the leak test
(GTZ 1989 s. 7.1) and venting the first holder (FAO Better Farming 31, 1984, paras 98-102)."""


def find_transition(origin: Stage, goal: Stage, evidence: frozenset[Evidence]) -> Transition:
    """The step from ``origin`` to ``goal`` when its evidence is there, else a refusal."""
    for transition in TRANSITIONS:
        if (transition.origin, transition.goal) == (origin, goal):
            lacking = sorted(item.value for item in transition.evidence - evidence)
            if lacking:
                raise FigureError(
                    f"From {origin.value} to {goal.value} {len(lacking)} thing(s) must be seen "
                    f"first: {' '.join(lacking)}"
                )
            return transition
    goals = ", ".join(step.goal.value for step in TRANSITIONS if step.origin is origin)
    raise FigureError(
        f"A digester that is {origin.value} cannot become {goal.value}; it may become: {goals}."
    )


SEED_DUNG_PARTS, SEED_WATER_PARTS = 1, 1
"""Fresh cattle dung to water. Common practice, no source (Biogas Digest II p. 39 has 1:3-2:1)."""

SEED_REST_DAYS_LOW, SEED_REST_DAYS_HIGH = 12, 15
"""Days without waste after seeding. Common practice, no source."""

_SEED_NOTE = gettext_noop(
    "Fresh cattle dung and water 1:1 up to the working volume: common practice, no source. "
    "Slurry from a healthy neighbour does as well. Test for tightness first."
)


@dataclass(frozen=True)
class Seeding:
    """What a dry digester is first filled with."""

    dung_g: int
    water_ml: int
    rest_days_low: int
    rest_days_high: int
    note: Sentence


def seed_digester(working_volume_ml: int, dung_kg_per_l: float = 1.0) -> Seeding:
    """Dung and water 1:1 by volume to the working volume; dung at ``dung_kg_per_l``."""
    whole(working_volume_ml, "The working volume", "millilitres", low=1)
    finite(dung_kg_per_l, "The density of dung", "kg/L", low=0.3, high=1.5)
    dung_ml = working_volume_ml * SEED_DUNG_PARTS // (SEED_DUNG_PARTS + SEED_WATER_PARTS)
    return Seeding(
        dung_g=round(dung_ml * dung_kg_per_l),
        water_ml=working_volume_ml - dung_ml,
        rest_days_low=SEED_REST_DAYS_LOW,
        rest_days_high=SEED_REST_DAYS_HIGH,
        note=Sentence(_SEED_NOTE),
    )
