"""Why an extract was refused."""

from __future__ import annotations

from apps.places.core.unreadable import Unreadable


class UnreadableExtract(Unreadable):
    """What is wrong with the file and what to do."""
