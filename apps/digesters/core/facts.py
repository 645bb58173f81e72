"""What must be known about one digester, and one day, to say what it may be fed."""

from dataclasses import dataclass
from datetime import date

from apps.digesters.core.stages import Stage
from apps.feedstock.core.feeds import PPM, SOLIDS_TARGET, check_solids_target
from apps.kernel.figures import FigureError, finite, whole

QUANTITIES = ("feed_g", "vs_g", "slurry_ml")
"""What a limit is on: fresh grams, grams of volatile solids, millilitres of slurry."""

RECOVERING_FROM = ("", "pause", "souring")

TYPICAL_VS_PPM = 87_000
"""g VS per 10^6 g fresh of what a digester usually gets: mixed vegetable market waste, 10 % TS,
87 % VS (published table). Only sets how high a target is worth aiming."""

TYPICAL_SLURRY_PPM = round(PPM * 10 / 3)
"""mL slurry per 10^6 g fresh: 3 kg to 10 L, common practice, no source."""


@dataclass(frozen=True)
class Tightening:
    """An administrator's own lower cap for one digester on ``quantity``, with the reason."""

    quantity: str
    value: int
    reason: str

    def __post_init__(self) -> None:
        if self.quantity not in QUANTITIES:
            raise FigureError(f"A cap is on one of {', '.join(QUANTITIES)}, not {self.quantity}.")
        whole(self.value, f"The cap on {self.quantity}", "grams or millilitres")
        if not self.reason.strip():
            raise FigureError("Say why this digester is held lower; people will read it.")


@dataclass(frozen=True)
class DigesterFacts:
    """One digester as it stands.

    ``working_volume_ml`` holds OLR and HRT; ``plate_*`` is what its maker or mason rated a day
    at. ``stage_days``: whole days in the stage; ``confirmed_steps``: rises confirmed on
    evidence since the stage began. ``stable_mean_vs_g``, ``stable_median_vs_g``: see
    ``loading``; None without records. ``buffered``: dung or other alkalinity is fed along.
    ``wanted_vs_g``: what the household wants a day, None for as much as is safe.
    """

    code: str
    working_volume_ml: int
    plate_feed_g: int
    plate_slurry_ml: int
    stage: Stage
    stage_days: int = 0
    confirmed_steps: int = 0
    buffered: bool = False
    solids_target: float = SOLIDS_TARGET
    stable_mean_vs_g: int | None = None
    stable_median_vs_g: int | None = None
    idle_weeks: int = 0
    recovering_from: str = ""
    wanted_vs_g: int | None = None
    tightenings: tuple[Tightening, ...] = ()

    def __post_init__(self) -> None:
        at = f"{self.code}: "
        whole(self.working_volume_ml, at + "the working volume", "millilitres", low=1)
        whole(self.plate_feed_g, at + "the rated daily feed", "grams", low=1)
        whole(self.plate_slurry_ml, at + "the rated daily slurry", "millilitres", low=1)
        whole(self.stage_days, at + "the days in its stage", "days")
        whole(self.confirmed_steps, at + "the confirmed steps", "steps")
        whole(self.idle_weeks, at + "the idle weeks", "weeks")
        check_solids_target(self.solids_target)
        for name in ("stable_mean_vs_g", "stable_median_vs_g", "wanted_vs_g"):
            value = getattr(self, name)
            if value is not None:
                whole(value, at + name, "grams")
        if self.recovering_from not in RECOVERING_FROM:
            raise FigureError(f"{at}it recovers from a pause or from souring; say which.")
        if (self.stage is Stage.RECOVERING) != bool(self.recovering_from):
            raise FigureError(
                f"{at}only a recovering digester, and every one, says from what it recovers."
            )


@dataclass(frozen=True)
class DayConditions:
    """What is expected of one digester on one local day.

    ``coldest_slurry_c``: coldest slurry expected over the next 7 days. ``ph_strip``: the latest
    strip. ``gas_fall_share``: fall of gas on the same feed in 5 days, 0..1;
    ``gas_fall_cleared``: leak, cold and full drum were looked at and ruled out.
    ``cooled_k``: fall of slurry temperature within 7 days. ``gas_room_l``: gas that can be
    stored or burnt that day, counted while ``away``. ``outflow_room_ml``: free outflow storage.
    ``model_vs_g``: what the process model advises at most; it lowers, never raises.
    """

    on: date
    coldest_slurry_c: float
    ph_strip: float | None = None
    sour_smell: bool = False
    gas_fall_share: float | None = None
    gas_fall_cleared: bool = False
    days_since_reading: int | None = None
    cooled_k: float = 0.0
    away: bool = False
    gas_room_l: int | None = None
    outflow_room_ml: int | None = None
    model_vs_g: int | None = None
    typical_vs_ppm: int = TYPICAL_VS_PPM
    typical_slurry_ppm: int = TYPICAL_SLURRY_PPM

    def __post_init__(self) -> None:
        finite(self.coldest_slurry_c, "The slurry temperature", "°C", low=-40, high=75)
        finite(self.cooled_k, "The fall in temperature", "K", low=-60, high=60)
        if self.ph_strip is not None:
            finite(self.ph_strip, "The pH strip", "pH", high=14)
        if self.gas_fall_share is not None:
            finite(self.gas_fall_share, "The fall in gas", "of the gas", low=-100, high=1)
        for name, unit in (
            ("days_since_reading", "days"), ("gas_room_l", "litres"),
            ("outflow_room_ml", "millilitres"), ("model_vs_g", "grams"),
        ):  # fmt: skip
            value = getattr(self, name)
            if value is not None:
                whole(value, name, unit)
        whole(self.typical_vs_ppm, "The usual volatile solids", "ppm", low=1, high=PPM)
        whole(self.typical_slurry_ppm, "The usual slurry", "ppm", low=PPM)
