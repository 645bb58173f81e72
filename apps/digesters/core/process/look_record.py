"""What happened between two looks at a gas holder, as gas made. An evening whose burning nobody
wrote down is not an evening without burning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean, pstdev
from typing import Final

from apps.digesters.core.process.gas_made import GasMade, gas_made
from apps.digesters.core.process.holder import GasInHolder

# A balance over more days than this tells nothing: too much may have been forgotten. Assumed.
MOST_DAYS_BETWEEN: Final = 14
# From so many evenings written down it is known what one usually burns. Assumed.
FEWEST_EVENINGS: Final = 3
# At least this is the doubt about an evening that was not written down; assumed.
GUESS_SD_SHARE: Final = 0.4


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
    """Gas made between two looks; None without a look within the days that a balance may span.

    A look comes before that evening's cooking. `burnt_m3` holds the evenings that were written
    down, 0.0 for none burnt; all volumes dry standard m3. An evening that was not written down
    counts as a usual one of this home, with its doubt; where no usual one is known, what was
    written down is the least that was made.
    """
    if before is None or not 0 < (after.on - before.on).days <= MOST_DAYS_BETWEEN:
        return None
    evenings = [before.on + timedelta(days=later) for later in range((after.on - before.on).days)]
    unwritten = sum(evening not in burnt_m3 for evening in evenings)
    usual_m3, doubt_m3 = 0.0, 0.0
    known = _written_before(burnt_m3, after.on) if unwritten else ()
    if len(known) >= FEWEST_EVENINGS:
        usual_m3 = fmean(known)
        # Whoever forgets to write may cook unlike themselves on all those evenings alike.
        doubt_m3 = unwritten * max(pstdev(known), GUESS_SD_SHARE * usual_m3)
    return gas_made(
        before.seen,
        after.seen,
        [burnt_m3.get(evening, usual_m3) for evening in evenings],
        released_m3=sum(released_m3.get(evening, 0.0) for evening in evenings),
        room_m3=room_m3,
        doubt_m3=doubt_m3,
        is_least=unwritten > 0 and len(known) < FEWEST_EVENINGS,
    )


def _written_before(burnt_m3: Mapping[date, float], on: date) -> Sequence[float]:
    first = on - timedelta(days=MOST_DAYS_BETWEEN)
    return [burnt_m3[each] for each in sorted(burnt_m3) if first <= each < on]
