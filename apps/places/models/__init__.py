"""Places, their hours and the days nobody is there; the streets between them."""

from apps.places.models.absence import Absence
from apps.places.models.place import OpeningHours, Place, Weekday
from apps.places.models.street_extract import ExtractState, StreetExtract

__all__ = ["Absence", "ExtractState", "OpeningHours", "Place", "StreetExtract", "Weekday"]
