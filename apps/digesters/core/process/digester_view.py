"""What a warning is, and what is looked at to raise it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from apps.kernel.sentences import Sentence


class WarningKind(StrEnum):
    """What a digester can be warned about."""

    SOURING = "souring"
    HUNGRY = "hungry"
    HYDRAULIC = "hydraulic"
    AMMONIA = "ammonia"
    FATTY = "fatty"
    CITRUS = "citrus"
    GAS_DROP = "gas_drop"
    FULL_HOLDER = "full_holder"
    COLD_FRONT = "cold_front"


@dataclass(frozen=True)
class DigesterView:
    """What is known of one digester tonight. None: not known, so nothing is raised or cleared.

    may_light: False while its gas must not be lit; sour_smell: by the last nose;
    souring_probability: members below pH 6.7 within 7 days [-]; souring_in_days: when half are;
    fed_vs_7d_g, minimum_vs_7d_g: volatile solids of seven days; hrt_7d and hrt_floor [d];
    oil_fat_share of VS and citrus_share of mass over seven days with their caps [-];
    gas_fall_share on the same feed [-]; gas_surprise of the last look [sd];
    holder_at_stop: at the last look; gas_tomorrow_m3 against room_m3 and use_m3 [standard m3];
    slurry_c now and slurry_lowest_c, the lowest expected within 7 days [C].
    """

    feeding: bool = True
    souring_probability: float | None = None
    souring_in_days: int | None = None
    ph_strip: float | None = None
    sour_smell: bool = False
    may_light: bool = True
    fed_vs_7d_g: float | None = None
    minimum_vs_7d_g: float | None = None
    hrt_7d: float | None = None
    hrt_floor: float | None = None
    ammonia_g_n_l: float | None = None
    ph: float | None = None
    oil_fat_share: float | None = None
    oil_fat_cap: float | None = None
    citrus_share: float | None = None
    citrus_cap: float | None = None
    gas_fall_share: float | None = None
    gas_fall_limit: float = 0.30
    gas_surprise: float | None = None
    holder_at_stop: bool | None = None
    gas_tomorrow_m3: float | None = None
    holder_room_m3: float | None = None
    gas_use_m3: float | None = None
    slurry_c: float | None = None
    slurry_lowest_c: float | None = None


@dataclass(frozen=True)
class DigesterWarning:
    """One warning. `within_days`: how soon (0 now); `certainty` [0..1]; both rank it.

    `cautions` are keys of apps.digesters.core.cautions.
    """

    kind: WarningKind
    within_days: int
    certainty: float
    evidence: Sentence
    advice: Sentence
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Signal:
    """One kind's evidence tonight: the warning if it would be raised, whether it is cleared."""

    kind: WarningKind
    warning: DigesterWarning | None
    cleared: bool
