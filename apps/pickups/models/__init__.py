"""Pickups, what happened to them, and the links people act by."""

from apps.pickups.models.day_link import DAY_LINK_LIFE, DayLink
from apps.pickups.models.foreign_matter import ForeignKind, ForeignMatter, StreamPause
from apps.pickups.models.ladder import Ladder, Standby
from apps.pickups.models.late_message import LateKind, LateMessage
from apps.pickups.models.pail import LARGEST_PAIL_ML, Pail, PailEvent, PailStep
from apps.pickups.models.pickup import Pickup, PickupEvent, PickupLine, PickupState

__all__ = [
    "DAY_LINK_LIFE",
    "LARGEST_PAIL_ML",
    "DayLink",
    "ForeignKind",
    "ForeignMatter",
    "Ladder",
    "LateKind",
    "LateMessage",
    "Pail",
    "PailEvent",
    "PailStep",
    "Pickup",
    "PickupEvent",
    "PickupLine",
    "PickupState",
    "Standby",
    "StreamPause",
]
