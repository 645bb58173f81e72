"""Sources, their streams and offers, where left-overs go, and days unlike others."""

from apps.supply.models.calendar_day import CalendarDay, CalendarKind
from apps.supply.models.source import Destination, Offer, Source, SourceKind, Stream

__all__ = [
    "CalendarDay",
    "CalendarKind",
    "Destination",
    "Offer",
    "Source",
    "SourceKind",
    "Stream",
]
