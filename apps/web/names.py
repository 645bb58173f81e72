"""What pages call the quantities, units and wishes that the code knows by short names."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

QUANTITY_NAMES: Mapping[str, Promise] = MappingProxyType(
    {
        "ts_pct_wet": _("Total solids"),
        "vs_pct_ts": _("Volatile solids"),
        "bmp_m3_per_kg_vs": _("Methane it can give"),
        "cn_ratio": _("Carbon to nitrogen (C:N)"),
        "bulk_density_kg_per_l": _("Density as carried"),
        "k_hyd_per_day": _("How fast it breaks down"),
        "c_pct_dm": _("Carbon"),
        "n_pct_dm": _("Nitrogen"),
        "p_pct_dm": _("Phosphorus"),
        "k_pct_dm": _("Potassium"),
    }
)

UNIT_NAMES: Mapping[str, Promise] = MappingProxyType(
    {
        "% of fresh mass": _("% of fresh mass"),
        "% of dry mass": _("% of dry mass"),
        "Nm3 CH4/kg VS": _("standard m³ of methane for each kg of volatile solids"),
        "-": _("ratio"),
        "kg/L": _("kg/L"),
        "1/d": _("a day"),
    }
)
