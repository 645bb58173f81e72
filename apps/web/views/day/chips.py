"""Weights to choose by one tap, around what was planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from apps.pickups.models import Pickup
from apps.pickups.operations.complete_pickup import Weight

SHARES_PERCENT = (50, 75, 100, 125, 150)
"""Parts of the planned weight. Ours; anything else is typed."""


@dataclass(frozen=True, slots=True)
class Chip:
    """`share` is sent, `amount_g` is shown."""

    share: int
    amount_g: int

    @property
    def is_planned(self) -> bool:
        """The one that is chosen when nobody chooses."""
        return self.share == 100


def weight_chips(planned_g: int) -> list[Chip]:
    """From half to one and a half of what was planned."""
    return [Chip(share, planned_g * share // 100) for share in SHARES_PERCENT]


def weights_at(pickup: Pickup, share: str) -> Mapping[UUID, Weight] | None:
    """Each line's weight at a chip's share; None: as planned."""
    if share not in {str(each) for each in SHARES_PERCENT} or share == "100":
        return None
    weights = {}
    for line in pickup.lines.all():
        amount_g = line.planned_g * int(share) // 100
        weights[line.uuid] = Weight(amount_g, amount_g)
    return weights
