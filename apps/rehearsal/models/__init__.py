"""Rehearsed years and how far they have come."""

from apps.rehearsal.models.rehearsal import Rehearsal, RehearsalState, RehearsedStretch

__all__ = ["Rehearsal", "RehearsalState", "RehearsedStretch"]
