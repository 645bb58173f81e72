"""Pickups, what happened to them, and the links people act by."""

from apps.pickups.models.day_link import DAY_LINK_LIFE, DayLink
from apps.pickups.models.pickup import Pickup, PickupEvent, PickupLine, PickupState

__all__ = ["DAY_LINK_LIFE", "DayLink", "Pickup", "PickupEvent", "PickupLine", "PickupState"]
