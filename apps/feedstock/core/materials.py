"""A material as its figures tell it; what is unknown stays unknown."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from apps.kernel.figures import Figure, FigureError, finite

VS_PER_CARBON = 1.8
"""kg VS per kg carbon: the usual composting estimate (Haug 1993; Rynk 1992; from memory)."""

MAX_CARBON_PCT = 60.0
"""% of dry mass; no plant or kitchen waste holds more, so a pair implying more is mistaken."""

UNKNOWN_TS_PCT = 40.0
"""% of fresh mass taken for unknown solids. Assumed: above every fresh kitchen or market
material of the published table but bread and oil, so that loading is over-estimated."""

UNKNOWN_VS_PCT = 95.0
"""% of dry mass taken for unknown solids. Assumed, on the same grounds."""

QUANTITIES: Mapping[str, tuple[str, float]] = MappingProxyType(
    {
        "ts_pct_wet": ("% of fresh mass", 100.0),
        "vs_pct_ts": ("% of dry mass", 100.0),
        "bmp_m3_per_kg_vs": ("Nm3 CH4/kg VS", 1.1),
        "cn_ratio": ("-", 1000.0),
        "bulk_density_kg_per_l": ("kg/L", 2.0),
        "k_hyd_per_day": ("1/d", 10.0),
        "c_pct_dm": ("% of dry mass", MAX_CARBON_PCT),
        "n_pct_dm": ("% of dry mass", 20.0),
        "p_pct_dm": ("% of dry mass", 20.0),
        "k_pct_dm": ("% of dry mass", 20.0),
    }
)
"""Quantities a material may have: unit and the most that is believable."""

HOLDINGS = ("wet", "dung", "dry")
"""How a material keeps: wet food waste, dung, or dry and oily goods."""


@dataclass(frozen=True)
class Material:
    """One material. ``figures`` holds only what is known, by quantity (see ``QUANTITIES``)."""

    code: str
    name: str
    figures: Mapping[str, Figure] = field(default_factory=dict)
    risk_groups: tuple[str, ...] = ()
    holding: str = "wet"
    buffers: bool = False
    cautions: str = ""

    def __post_init__(self) -> None:
        for quantity, figure in self.figures.items():
            if quantity not in QUANTITIES:
                raise FigureError(
                    f"{self.code}: {quantity} is not a known quantity; "
                    f"use one of {', '.join(QUANTITIES)}."
                )
            unit, most = QUANTITIES[quantity]
            if figure.unit != unit:
                raise FigureError(
                    f"{self.code}: {quantity} is given in {figure.unit}; give it in {unit}."
                )
            finite(figure.value, f"{self.code}: {quantity}", unit, high=most)
        if self.holding not in HOLDINGS:
            raise FigureError(
                f"{self.code}: holding {self.holding!r} is unknown; use {', '.join(HOLDINGS)}."
            )
        object.__setattr__(self, "figures", MappingProxyType(dict(self.figures)))
        self._refuse_impossible_carbon()

    def _refuse_impossible_carbon(self) -> None:
        ratio, nitrogen = self.value("cn_ratio"), self.value("n_pct_dm")
        if ratio is None or nitrogen is None:
            return
        implied = ratio * nitrogen
        if implied > MAX_CARBON_PCT:
            raise FigureError(
                f"{self.code}: C:N {ratio:g} with nitrogen {nitrogen:g} % implies {implied:.0f} % "
                f"carbon in the dry mass; at most {MAX_CARBON_PCT:g} % is possible. "
                "The two figures come from different samples: keep one of them."
            )

    def value(self, quantity: str) -> float | None:
        """The figure's value in its unit, or None: no claim."""
        figure = self.figures.get(quantity)
        return None if figure is None else figure.value

    @property
    def solids_known(self) -> bool:
        """Whether both total and volatile solids are known."""
        return "ts_pct_wet" in self.figures and "vs_pct_ts" in self.figures

    @property
    def groups(self) -> tuple[str, ...]:
        """Risk groups that its share of a day counts to."""
        return self.risk_groups if self.solids_known else (*self.risk_groups, "unknown_solids")

    @property
    def ts_share(self) -> float:
        """kg TS per kg fresh; the cautious default where unknown."""
        value = self.value("ts_pct_wet")
        return (UNKNOWN_TS_PCT if value is None else value) / 100

    @property
    def vs_share(self) -> float:
        """kg VS per kg fresh; the cautious default where unknown."""
        value = self.value("vs_pct_ts")
        return self.ts_share * (UNKNOWN_VS_PCT if value is None else value) / 100

    @property
    def carbon_share_of_ts(self) -> float | None:
        """kg C per kg TS: measured, from C:N and N together, or VS/1.8; None without a claim."""
        measured = self.value("c_pct_dm")
        if measured is not None:
            return measured / 100
        ratio, nitrogen = self.value("cn_ratio"), self.value("n_pct_dm")
        if ratio is not None and nitrogen is not None:
            return ratio * nitrogen / 100
        volatile = self.value("vs_pct_ts")
        return None if volatile is None else volatile / 100 / VS_PER_CARBON

    @property
    def nitrogen_share_of_ts(self) -> float | None:
        """kg N per kg TS: measured, or carbon / (C:N); None without a claim."""
        nitrogen = self.value("n_pct_dm")
        if nitrogen is not None:
            return nitrogen / 100
        ratio, carbon = self.value("cn_ratio"), self.carbon_share_of_ts
        if ratio is None or carbon is None or ratio == 0:
            return None
        return carbon / ratio
