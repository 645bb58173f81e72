"""Carriers, their rounds, and the links they act by."""

from apps.rounds.models.carrier import Avoided, Carrier, Moving
from apps.rounds.models.round import (
    LIVE,
    Round,
    RoundEvent,
    RoundState,
    RoundStop,
    StopSide,
    StopState,
)
from apps.rounds.models.round_link import ROUND_LINK_LIFE, RoundLink

__all__ = [
    "LIVE",
    "ROUND_LINK_LIFE",
    "Avoided",
    "Carrier",
    "Moving",
    "Round",
    "RoundEvent",
    "RoundLink",
    "RoundState",
    "RoundStop",
    "StopSide",
    "StopState",
]
