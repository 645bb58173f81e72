"""What the verifier reports: one broken rule at one place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """`figure` is by how much, in the unit the sentence names (0 where there is none)."""

    rule: str
    place: str
    figure: float
    sentence: str
