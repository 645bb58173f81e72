"""What really went into each digester, day by day, from the ledger."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from apps.digesters.core.loading import FedDay
from apps.digesters.models import Digester
from apps.feedstock.core.feeds import PPM, feed_coefficients
from apps.feedstock.core.materials import Material
from apps.feedstock.core.recipe import SLURRY_KG_PER_L
from apps.groups.models import Group
from apps.ledger.models import LiquidKind
from apps.ledger.queries.grams_per_day import fed_and_own_per_day, liquids_per_day


@dataclass(frozen=True)
class FedHistory:
    """One digester's fed days, oldest first, and their grams by material code."""

    days: tuple[FedDay, ...] = ()
    grams: Mapping[date, Mapping[str, int]] | None = None
    own_grams: Mapping[date, Mapping[str, int]] = field(default_factory=dict)
    """Of them what came from the own kitchen."""

    def vs_g(self) -> dict[date, int]:
        """Volatile solids by day."""
        return {day.on: day.vs_g for day in self.days}


def fed_history(
    group: Group,
    digesters: Iterable[Digester],
    materials: Mapping[str, Material],
    first: date,
    last: date,
) -> dict[str, FedHistory]:
    """By digester code, both days included: two queries. Days without a feeding are absent."""
    code_of = {digester.account_id: digester.code for digester in digesters}
    grams: dict[str, dict[date, dict[str, int]]] = {code: {} for code in code_of.values()}
    own: dict[str, dict[date, dict[str, int]]] = {code: {} for code in code_of.values()}
    fed, kitchen = fed_and_own_per_day(group, code_of, first, last)
    for found, by_code in ((fed, grams), (kitchen, own)):
        for (account, on), by_material in found.items():
            by_code[code_of[account]][on] = by_material
    water = liquids_per_day(group, LiquidKind.WATER, list(code_of), first, last)
    water_ml = {(code_of[account], on): amount for (account, on), amount in water.items()}
    return {
        code: FedHistory(
            days=tuple(
                _fed_day(on, by_day[on], water_ml.get((code, on), 0), materials)
                for on in sorted(by_day)
            ),
            grams=by_day,
            own_grams=own[code],
        )
        for code, by_day in grams.items()
    }


def _fed_day(
    on: date, by_material: Mapping[str, int], water_ml: int, materials: Mapping[str, Material]
) -> FedDay:
    feed_g = sum(by_material.values())
    vs_ppm = sum(
        amount_g * feed_coefficients(materials[code]).vs_ppm
        for code, amount_g in by_material.items()
    )
    return FedDay(
        on=on,
        feed_g=max(0, feed_g),
        vs_g=max(0, math.ceil(vs_ppm / PPM)),
        slurry_ml=max(0, math.ceil(feed_g / SLURRY_KG_PER_L) + water_ml),
    )
