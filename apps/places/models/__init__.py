"""Places, their hours and the days nobody is there."""

from apps.places.models.absence import Absence
from apps.places.models.place import OpeningHours, Place, Weekday

__all__ = ["Absence", "OpeningHours", "Place", "Weekday"]
