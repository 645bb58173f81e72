"""What each side says a pickup weighed."""

from __future__ import annotations

from dataclasses import dataclass

from apps.pickups.core.weights import are_contested
from apps.pickups.models import Pickup


@dataclass(frozen=True, slots=True)
class TwoWeights:
    """Net grams, None while that side has not weighed."""

    giver_g: int | None
    fetcher_g: int | None
    is_questioned: bool = False
    """One side said that the weight is wrong."""

    @property
    def is_contested(self) -> bool:
        """One side says so, or both have weighed and are too far apart; both are shown both."""
        return self.is_questioned or are_contested(self.giver_g, self.fetcher_g)


def fetched_g(pickup: Pickup) -> int | None:
    """Grams collected by the fetcher's scale, all lines together."""
    weights = [line.collected_g for line in pickup.lines.all()]
    known = [each for each in weights if each is not None]
    return sum(known) if known and len(known) == len(weights) else None


def two_weights(pickup: Pickup) -> TwoWeights:
    """No query where the lines were prefetched."""
    return TwoWeights(
        pickup.giver_weight_g, fetched_g(pickup), is_questioned=pickup.contested_at is not None
    )
