"""Which warnings about a digester are raised, stand and are cleared tonight.

A warning is raised once and stays until evidence clears it; between the two thresholds nothing
changes, so it does not flicker. Nothing here looks at a clock or sends anything.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

from apps.digesters.core.process.digester_view import DigesterView, DigesterWarning, WarningKind
from apps.digesters.core.process.warning_signs import signals

GRAVEST_FIRST: Final = (
    WarningKind.SOURING,
    WarningKind.GAS_DROP,
    WarningKind.FULL_HOLDER,
    WarningKind.AMMONIA,
    WarningKind.FATTY,
    WarningKind.CITRUS,
    WarningKind.HYDRAULIC,
    WarningKind.COLD_FRONT,
    WarningKind.HUNGRY,
)
"""In which order warnings of the same day and certainty are told. Chosen by us."""


@dataclass(frozen=True)
class WarningChanges:
    """What tonight's evidence changes."""

    raised: tuple[DigesterWarning, ...]
    cleared: tuple[WarningKind, ...]
    standing: tuple[DigesterWarning, ...]  # raised before and still evident, with fresh figures


def judge(view: DigesterView, standing: Collection[WarningKind] = ()) -> WarningChanges:
    """Tonight's changes, given the warnings that stand; the most urgent first."""
    raised, kept, cleared = [], [], []
    for signal in signals(view):
        if signal.kind in standing:
            if signal.cleared:
                cleared.append(signal.kind)
            elif signal.warning is not None:
                kept.append(signal.warning)
        elif signal.warning is not None:
            raised.append(signal.warning)
    return WarningChanges(ranked(raised), tuple(cleared), ranked(kept))


def ranked(warnings: Sequence[DigesterWarning]) -> tuple[DigesterWarning, ...]:
    """The most urgent first."""
    return tuple(sorted(warnings, key=lambda w: urgency(w.kind, w.within_days, w.certainty)))


def urgency(kind: str, within_days: int, certainty: float) -> tuple[float, ...]:
    """What warnings are sorted by: how soon, then how sure, then how grave."""
    return within_days, -certainty, GRAVEST_FIRST.index(WarningKind(kind))
