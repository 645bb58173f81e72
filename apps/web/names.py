"""What pages call the quantities, units and wishes that the code knows by short names."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

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
        "kg VS/m3.d": _("kg of volatile solids a day and m³"),
        "d": _("days"),
        "% of mass": _("% of the mass"),
        "% of VS": _("% of the volatile solids"),
        "% of target": _("% of the target"),
        "L/g VS": _("L for each g of volatile solids"),
    }
)


def unit_name(unit: str) -> str:
    """In the reader's language; a unit that is a symbol stays."""
    return str(UNIT_NAMES.get(unit, unit))


MATERIAL_NAMES: frozenset[str] = frozenset(
    {
        gettext_noop("Mixed vegetable market waste"),
        gettext_noop("Mixed fruit waste (non-citrus)"),
        gettext_noop("Leafy greens / cabbage leaves"),
        gettext_noop("Potato / tuber peel"),
        gettext_noop("Onion / garlic peel and trimmings"),
        gettext_noop("Citrus peel"),
        gettext_noop("Banana peel"),
        gettext_noop("Mango / pineapple / papaya peel"),
        gettext_noop("Tomato rejects"),
        gettext_noop("Cooked rice / maize paste"),
        gettext_noop("Mixed cooked food leftovers"),
        gettext_noop("Canteen / restaurant food waste"),
        gettext_noop("Household kitchen waste (mixed)"),
        gettext_noop("Bread / bakery waste"),
        gettext_noop("Cooked pulses / beans"),
        gettext_noop("Tea / coffee grounds"),
        gettext_noop("Dairy whey"),
        gettext_noop("Sour milk / cream"),
        gettext_noop("Fish scraps"),
        gettext_noop("Meat / slaughter scraps"),
        gettext_noop("Used cooking oil / fat"),
        gettext_noop("Eggshell"),
        gettext_noop("Bones / shells"),
        gettext_noop("Garden clippings (mixed)"),
        gettext_noop("Grass clippings (fresh)"),
        gettext_noop("Dry fallen leaves"),
        gettext_noop("Sawdust"),
        gettext_noop("Paper / cardboard"),
        gettext_noop("Cattle dung, fresh"),
        gettext_noop("Buffalo dung"),
        gettext_noop("Pig manure"),
        gettext_noop("Poultry manure (fresh)"),
        gettext_noop("Goat / sheep pellets"),
        gettext_noop("Duck / rabbit dung"),
        gettext_noop("Human excreta (note only)"),
        gettext_noop("Water hyacinth / aquatic weeds"),
        gettext_noop("Spent grain / mash"),
        gettext_noop("Banana stem / peduncle / leaf"),
    }
)
"""Names of the published table, so that translators see them; a group's own stay as typed."""
