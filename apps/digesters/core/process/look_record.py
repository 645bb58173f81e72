"""What happened between two looks at a gas holder, as gas made, where it was all written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from apps.digesters.core.process.gas_made import GasMade, gas_made
from apps.digesters.core.process.holder import GasInHolder

# A balance over more days than this tells nothing: too much may have been forgotten. Assumed.
MOST_DAYS_BETWEEN: Final = 14


@dataclass(frozen=True)
class Look:
    """One look at the holder."""

    on: date
    seen: GasInHolder


def gas_between(
    before: Look | None,
    after: Look,
    burnt_m3: Mapping[date, float],
    released_m3: Mapping[date, float],
    room_m3: float,
) -> GasMade | None:
    """Gas made between two looks; None where an evening's burning was not written down.

    A look comes before that evening's cooking. `burnt_m3` holds the evenings that were written
    down, 0.0 for none burnt; all volumes dry standard m3.
    """
    if before is None or not 0 < (after.on - before.on).days <= MOST_DAYS_BETWEEN:
        return None
    evenings = [before.on + timedelta(days=later) for later in range((after.on - before.on).days)]
    if any(evening not in burnt_m3 for evening in evenings):
        return None
    return gas_made(
        before.seen,
        after.seen,
        [burnt_m3[evening] for evening in evenings],
        released_m3=sum(released_m3.get(evening, 0.0) for evening in evenings),
        room_m3=room_m3,
    )
