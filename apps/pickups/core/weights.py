"""Two people weigh one thing: when do they disagree, and when is a weight unbelievable? Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

CONTEST_SHARE = 0.10
"""Weights further apart than this share of the larger one are shown to both. Assumed."""

CONTEST_LEAST_G = 300
"""Differences below this are the scale's. Assumed."""

ASK_AGAIN_FACTOR = 3
"""A weight of three times the usual is asked again before it is written down. Assumed."""


@dataclass(frozen=True, slots=True)
class Gross:
    """What stands on the scale: container and foreign matter included, in grams."""

    gross_g: int
    tare_g: int
    foreign_g: int = 0


@dataclass(frozen=True, slots=True)
class Net:
    """Collected = delivered + set aside, in grams."""

    collected_g: int
    delivered_g: int
    set_aside_g: int


def net(weighed: Gross) -> Net:
    """Take the container off, and foreign matter aside.

    >>> net(Gross(12_400, 900, 1_500))
    Net(collected_g=11500, delivered_g=10000, set_aside_g=1500)

    Raises ValueError when the container or the foreign matter outweighs the whole.
    """
    collected_g = weighed.gross_g - weighed.tare_g
    delivered_g = collected_g - weighed.foreign_g
    if min(weighed.tare_g, weighed.foreign_g) < 0 or collected_g <= 0 or delivered_g < 0:
        raise ValueError(
            f"{weighed.gross_g} g gross cannot hold {weighed.tare_g} g of container and "
            f"{weighed.foreign_g} g of foreign matter."
        )
    return Net(collected_g, delivered_g, weighed.foreign_g)


def are_contested(giver_g: int | None, fetcher_g: int | None) -> bool:
    """Whether the two sides' weights are too far apart to be the scale's."""
    if giver_g is None or fetcher_g is None:
        return False
    gap_g = abs(giver_g - fetcher_g)
    return gap_g > CONTEST_LEAST_G and gap_g > CONTEST_SHARE * max(giver_g, fetcher_g)


def is_unusual(amount_g: int, usual_g: int) -> bool:
    """Whether to ask again: at least three times the usual."""
    return usual_g > 0 and amount_g >= ASK_AGAIN_FACTOR * usual_g


def share_out(whole_g: int, parts_g: Sequence[int]) -> list[int]:
    """`whole_g` in proportion to `parts_g`, to the gram; the rest goes to the largest part.

    >>> share_out(5_000, [3_000, 400])
    [4412, 588]

    Raises ValueError when all parts are 0.
    """
    total_g = sum(parts_g)
    if total_g <= 0:
        raise ValueError("Nothing is known of the parts.")
    shares = [whole_g * part_g // total_g for part_g in parts_g]
    shares[parts_g.index(max(parts_g))] += whole_g - sum(shares)
    return shares
