"""Gas made between two looks at the holder: what the holder gained plus what was burnt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from apps.digesters.core.process.holder import GasInHolder

# The rate of a burner is known to about this share, and minutes are rounded; assumed.
BURNER_SD: Final = 0.10
# The model is never trusted better than this about a day's gas; assumed.
MODEL_SD_SHARE: Final = 0.05


@dataclass(frozen=True)
class GasMade:
    """Gas made since the look before [dry standard m3] and its standard deviation.

    `at_least`: the holder was at its stop, so more may have been made than was seen.
    """

    standard_m3: float
    sd_m3: float
    at_least: bool = False


def gas_made(
    before: GasInHolder, after: GasInHolder, burnt_m3: float, released_m3: float = 0.0
) -> GasMade:
    """Balance of a holder: gained + burnt + knowingly flared or vented, all dry standard m3.

    A holder found at its stop before does not matter: it was full then, and what it lost since is
    known. Found at its stop after, the figure is a lower bound.
    """
    made = after.standard_m3 - before.standard_m3 + burnt_m3 + released_m3
    sd = (
        before.sd_m3**2
        + after.sd_m3**2
        + (BURNER_SD * (burnt_m3 + released_m3)) ** 2
        + (MODEL_SD_SHARE * max(made, 0.0)) ** 2
    ) ** 0.5
    return GasMade(max(made, 0.0), sd, after.at_stop)
