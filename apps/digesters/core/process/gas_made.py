"""Gas made between two looks at the holder: what the holder gained plus what was burnt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from apps.digesters.core.process.holder import GasInHolder

# What one evening's burning is off by: rounded minutes, a knob not quite open. A burner's constant
# error is not in it; it goes into the strength of the feed. Assumed.
BURNER_SD: Final = 0.05
# The model is never trusted better than this about a day's gas; assumed.
MODEL_SD_SHARE: Final = 0.03
# A holder this full on an unseen evening may as well have spilled; assumed.
NEARLY_FULL: Final = 0.85


@dataclass(frozen=True)
class GasMade:
    """Gas made since the look before [dry standard m3] and its standard deviation.

    `at_least`: the holder was at its stop, so more may have been made than was seen.
    """

    standard_m3: float
    sd_m3: float
    at_least: bool = False


def gas_made(
    before: GasInHolder,
    after: GasInHolder,
    burnt_m3: Sequence[float],
    *,
    released_m3: float = 0.0,
    room_m3: float | None = None,
    doubt_m3: float = 0.0,
    is_least: bool = False,
) -> GasMade:
    """Balance of a holder: gained + burnt + knowingly flared or vented, all dry standard m3.

    `burnt_m3` has one figure an evening from the look before (cooking followed it) to the evening
    before the look after. A holder found at its stop before does not matter: it was full then, and
    what it lost since is known. Found at its stop after, the figure is a lower bound; so it is when
    days went by unseen and gas coming evenly would have filled `room_m3`, the full holder, on one.
    `doubt_m3` is the standard deviation of what was guessed in `burnt_m3`; `is_least` says that
    something burnt is missing from it.
    """
    burnt = sum(burnt_m3)
    made = after.standard_m3 - before.standard_m3 + burnt + released_m3
    sd = (
        before.sd_m3**2
        + after.sd_m3**2
        + (BURNER_SD * (burnt + released_m3)) ** 2
        + (MODEL_SD_SHARE * max(made, 0.0)) ** 2
        + doubt_m3**2
    ) ** 0.5
    spilled = after.at_stop or is_least
    if room_m3 is not None:
        held = before.standard_m3
        for evening in burnt_m3[:-1]:
            held += made / len(burnt_m3) - evening
            spilled |= held >= NEARLY_FULL * room_m3
    return GasMade(max(made, 0.0), sd, spilled)
