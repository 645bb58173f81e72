"""What a mix of materials holds: solids, carbon, nitrogen, density."""

from collections.abc import Sequence
from dataclasses import dataclass

from apps.feedstock.core.materials import Material
from apps.kernel.figures import finite, whole

WATER_G_PER_ML = 1.0
"""Density of the water added, g/mL."""


@dataclass(frozen=True)
class Portion:
    """Whole grams of one material, fresh as weighed."""

    material: Material
    amount_g: int

    def __post_init__(self) -> None:
        whole(self.amount_g, f"The amount of {self.material.code}", "grams")


@dataclass(frozen=True)
class Mix:
    """Totals of a mix, in grams; None where a part makes no claim.

    ``without_carbon`` and ``with_default_solids`` name the parts behind a missing C:N and
    behind over-estimated solids.
    """

    amount_g: int
    ts_g: float
    vs_g: float
    carbon_g: float | None
    nitrogen_g: float | None
    volume_ml: float | None
    without_carbon: tuple[str, ...]
    with_default_solids: tuple[str, ...]

    @property
    def ts_share(self) -> float:
        """kg TS per kg fresh; GTZ 1989 p. 20: sum(TS x W) / sum(W)."""
        return self.ts_g / self.amount_g if self.amount_g else 0.0

    @property
    def vs_share(self) -> float:
        """kg VS per kg fresh."""
        return self.vs_g / self.amount_g if self.amount_g else 0.0

    @property
    def cn_ratio(self) -> float | None:
        """Total carbon / total nitrogen on dry mass (Rynk 1992).

        GTZ 1989 p. 20 averages the ratios by fresh weight instead, which is wrong whenever
        nitrogen contents differ.
        """
        if self.carbon_g is None or not self.nitrogen_g:
            return None
        return self.carbon_g / self.nitrogen_g

    @property
    def density_kg_per_l(self) -> float | None:
        """Bulk density; None where a part has none."""
        return self.amount_g / self.volume_ml if self.volume_ml else None


def mix_portions(portions: Sequence[Portion]) -> Mix:
    """Add the portions up. Parts of 0 g change nothing, not even what is claimed."""
    parts = [portion for portion in portions if portion.amount_g]
    ts_g = vs_g = carbon_g = nitrogen_g = volume_ml = 0.0
    dense = True
    without_carbon: list[str] = []
    with_default: list[str] = []
    for part in parts:
        material, part_ts_g = part.material, part.amount_g * part.material.ts_share
        ts_g += part_ts_g
        vs_g += part.amount_g * material.vs_share
        carbon, nitrogen = material.carbon_share_of_ts, material.nitrogen_share_of_ts
        if carbon is None or nitrogen is None or not material.solids_known:
            without_carbon.append(material.code)
        else:
            carbon_g += part_ts_g * carbon
            nitrogen_g += part_ts_g * nitrogen
        density = material.value("bulk_density_kg_per_l")
        if density:
            volume_ml += part.amount_g / density
        else:
            dense = False
        if not material.solids_known:
            with_default.append(material.code)
    claimed = bool(parts) and not without_carbon
    return Mix(
        amount_g=sum(part.amount_g for part in parts),
        ts_g=ts_g,
        vs_g=vs_g,
        carbon_g=carbon_g if claimed else None,
        nitrogen_g=nitrogen_g if claimed else None,
        volume_ml=volume_ml if parts and dense else None,
        without_carbon=tuple(sorted(set(without_carbon))),
        with_default_solids=tuple(sorted(set(with_default))),
    )


def water_for_solids(amount_g: float, ts_share: float, target_share: float) -> float:
    """Water [mL] that thins ``amount_g`` from ``ts_share`` to ``target_share`` [kg TS per kg].

    W = m (TS / TS_target - 1), by mass balance; none for what is thinner already.
    """
    finite(amount_g, "The amount", "g")
    finite(ts_share, "The share of solids", "kg/kg", high=1.0)
    finite(target_share, "The solids target", "kg/kg", low=0.001, high=1.0)
    return max(0.0, amount_g * (ts_share / target_share - 1) / WATER_G_PER_ML)
