"""What a round asks of a back: each lift, and all that is lifted in a day.

The figures warn; they prove nothing safe. Whoever lifts decides, and local rules on work and
health come first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.kernel.figures import Figure, finite, whole
from apps.kernel.quantities import in_thousands
from apps.kernel.sentences import Sentence, gettext_noop
from apps.rounds.core.problem import Rounds, Side
from apps.rounds.core.schedule import Timing

LIFT_KG = Figure(
    15.0,
    "kg",
    "ISO 11228-1 (2003, 2021), reference mass for the general public, young and old included",
    "memory",
    low=15.0,
    high=25.0,
)
"""Heaviest single lift of a volunteer."""

DAY_KG = Figure(
    6_000.0,
    "kg",
    "ISO 11228-1 (2003), all that is lifted and carried over some metres in eight hours",
    "memory",
    low=6_000.0,
    high=10_000.0,
)
"""All that one person lifts in a working day of eight hours; less in a shorter one."""

DAY_S = 8 * 3600

LOAD_CONSTANT_KG = Figure(
    23.0, "kg", "Waters, Putz-Anderson, Garg, NIOSH publication 94-110 (1994)", "read"
)
"""Most for one lift under the best conditions in the revised NIOSH lifting equation."""

PAIL_REACH_CM, PAIL_HANDLE_CM, CART_CM = 30.0, 25.0, 60.0
"""A pail beside the feet, its handle above the ground, and the floor of a cart. Assumed."""

LIFTS_AN_ERRAND = 2
"""Onto the cart and off it again."""


@dataclass(frozen=True, slots=True)
class Handling:
    """One tour: grams lifted count once for each lift; `gram_metres` are pushed on the cart."""

    lifts: int
    heaviest_g: int
    lifted_g: int
    day_limit_g: int
    gram_metres: int
    heaviest_load_g: int
    cautions: tuple[Sentence, ...]


def recommended_weight_kg(
    reach_cm: float, height_cm: float, travel_cm: float, turn_degrees: float = 0.0
) -> float:
    """Revised NIOSH lifting equation for rare lifts with good handles [kg].

    `reach_cm`: hands from the ankles; `height_cm`: hands above the ground at the start;
    `travel_cm`: up or down; `turn_degrees`: of the trunk. Outside its range (reach over 63 cm,
    height over 175 cm, travel over 175 cm, turn over 135 degrees) it allows nothing: 0.
    """
    reach = max(25.0, finite(reach_cm, "The reach", "cm"))
    height = finite(height_cm, "The height", "cm")
    travel = max(25.0, finite(travel_cm, "The way of the lift", "cm"))
    turn = finite(turn_degrees, "The turn", "degrees")
    if reach > 63 or height > 175 or travel > 175 or turn > 135:
        return 0.0
    return (
        LOAD_CONSTANT_KG.value
        * (25.0 / reach)
        * (1 - 0.003 * abs(height - 75.0))
        * (0.82 + 4.5 / travel)
        * (1 - 0.0032 * turn)
    )


def lift_limit_g(carry_limit_g: int) -> int:
    """The heaviest lift planned for somebody: their own limit, the public's, and what the
    equation allows from the ground onto a cart; the least of them."""
    whole(carry_limit_g, "The carrying limit", "grams", low=1)
    onto_cart_kg = recommended_weight_kg(PAIL_REACH_CM, PAIL_HANDLE_CM, CART_CM - PAIL_HANDLE_CM)
    return min(carry_limit_g, int(LIFT_KG.value * 1000), int(onto_cart_kg * 1000))


def handling(rounds: Rounds, timed: Timing, carry_limit_g: int, before_g: int = 0) -> Handling:
    """Of one tour, when each errand is shared out over as few pails as the limit allows.
    `before_g`: what the person lifts on other rounds of the day."""
    limit_g = lift_limit_g(carry_limit_g)
    amounts_g = [
        rounds.errand[moment.visit.errand].amount_g
        for moment in timed.moments
        if moment.visit.side is Side.BRING
    ]
    pails = [math.ceil(amount_g / limit_g) for amount_g in amounts_g]
    heaviest_g = max(
        (math.ceil(amount_g / n) for amount_g, n in zip(amounts_g, pails, strict=True)), default=0
    )
    day_limit_g = int(DAY_KG.value * 1000 * min(1.0, max(1, timed.seconds) / DAY_S))
    lifted_g = LIFTS_AN_ERRAND * sum(amounts_g) + before_g
    return Handling(
        lifts=LIFTS_AN_ERRAND * sum(pails),
        heaviest_g=heaviest_g,
        lifted_g=lifted_g,
        day_limit_g=day_limit_g,
        gram_metres=timed.gram_metres,
        heaviest_load_g=max((moment.load_g for moment in timed.moments), default=0),
        cautions=tuple(_cautions(amounts_g, limit_g, lifted_g, day_limit_g)),
    )


def _cautions(
    amounts_g: Sequence[int], limit_g: int, lifted_g: int, day_limit_g: int
) -> list[Sentence]:
    said = []
    shared = sum(amount_g > limit_g for amount_g in amounts_g)
    if shared:
        said.append(
            Sentence(
                gettext_noop(
                    "%(count)s loads are heavier than one lift of %(limit)s kg: take each in "
                    "several pails."
                ),
                {"count": shared, "limit": in_thousands(limit_g)},
            )
        )
    if lifted_g > day_limit_g:
        said.append(
            Sentence(
                gettext_noop(
                    "%(lifted)s kg are lifted in all, more than the %(limit)s kg for this much "
                    "time. Share the round with somebody."
                ),
                {
                    "lifted": in_thousands(lifted_g),
                    "limit": in_thousands(day_limit_g),
                },
            )
        )
    return said
