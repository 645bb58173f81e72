"""How to dilute outflow by what it is used on. Pure.

The parts of water are common practice, no source; that it is never used neat on growing plants
and not on edible leaves is from bio-slurry guides (from memory). Germs: Olsen & Larsen 1987,
Biol. Wastes 21:153; worm eggs: Plym-Forshell 1995 (60 % alive after 56 days at 22-27 °C).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from apps.kernel.figures import whole
from apps.kernel.words import gettext_noop


class Use(StrEnum):
    """What the outflow goes to."""

    TREES = "trees"
    ROOF_GARDEN = "roof_garden"
    TENDER = "tender"
    GIVEN_AWAY = "given_away"
    COMPOST = "compost"


WATER_PARTS: Mapping[Use, int] = MappingProxyType(
    {Use.TREES: 3, Use.ROOF_GARDEN: 6, Use.TENDER: 10}
)
"""Parts of water to one part of outflow. Common practice, no source."""

USE_NAMES: Mapping[Use, str] = MappingProxyType(
    {
        Use.TREES: gettext_noop("trees and shrubs"),
        Use.ROOF_GARDEN: gettext_noop("roof gardens and beds"),
        Use.TENDER: gettext_noop("seedlings and tender plants"),
        Use.GIVEN_AWAY: gettext_noop("given to somebody"),
        Use.COMPOST: gettext_noop("onto the compost"),
    }
)

CAUTIONS = (
    gettext_noop("Never neat on growing plants: it burns roots."),
    gettext_noop("On the soil, not on leaves; never on leaves or fruit that are eaten."),
    gettext_noop("It carries germs and worm eggs: gloves on, wash your hands, keep children off."),
    gettext_noop("Keep it away from wells and drains, and its store covered."),
    gettext_noop("Follow local rules; from cooked or animal waste it may need a waiting time."),
)


@dataclass(frozen=True, slots=True)
class Dilution:
    """Millilitres of outflow and water; both zero of water where none is added."""

    use: Use
    outflow_ml: int
    water_ml: int

    @property
    def total_ml(self) -> int:
        """What comes out of the can."""
        return self.outflow_ml + self.water_ml


def dilute(outflow_ml: int, use: Use) -> Dilution:
    """Water to so much outflow.

    >>> dilute(1_000, Use.ROOF_GARDEN).water_ml
    6000
    """
    whole(outflow_ml, "The outflow", "millilitres", low=1)
    return Dilution(use, outflow_ml, outflow_ml * WATER_PARTS.get(use, 0))


def fill_can(can_ml: int, use: Use) -> Dilution:
    """How to fill a can of `can_ml`: outflow rounded down, so that it is never stronger."""
    whole(can_ml, "The can", "millilitres", low=1)
    outflow_ml = can_ml // (1 + WATER_PARTS.get(use, 0))
    return Dilution(use, outflow_ml, can_ml - outflow_ml)
