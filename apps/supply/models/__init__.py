"""Sources, their streams and offers, and where left-overs go."""

from apps.supply.models.source import Destination, Offer, Source, SourceKind, Stream

__all__ = ["Destination", "Offer", "Source", "SourceKind", "Stream"]
