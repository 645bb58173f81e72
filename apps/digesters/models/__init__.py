"""Digesters and what people saw at them."""

from apps.digesters.models.concern import Concern, ConcernKind
from apps.digesters.models.digester import (
    Digester,
    DigesterKind,
    OwnWaste,
    RefusedMaterial,
    StageName,
)
from apps.digesters.models.model_state import ModelState, RaisedWarning
from apps.digesters.models.record import LimitChange, Reading, ReadingKind, StageChange

__all__ = [
    "Concern",
    "ConcernKind",
    "Digester",
    "DigesterKind",
    "LimitChange",
    "ModelState",
    "OwnWaste",
    "RaisedWarning",
    "Reading",
    "ReadingKind",
    "RefusedMaterial",
    "StageChange",
    "StageName",
]
