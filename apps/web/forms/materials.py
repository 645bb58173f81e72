"""A material the group measured itself."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.feedstock.core.risk_groups import RISK_GROUPS
from apps.feedstock.models import Holding
from apps.feedstock.operations.save_material import Given
from apps.web.names import QUANTITY_NAMES

ASKED = ("ts_pct_wet", "vs_pct_ts", "bmp_m3_per_kg_vs", "cn_ratio", "bulk_density_kg_per_l")
"""Quantities asked for on the page; the rest comes by sheet."""


def risk_choices() -> list[tuple[str, str]]:
    """Groups whose share of a day is limited, in the reader's language."""
    return [(name, _(text)) for name, text in RISK_GROUPS.items() if name != "unknown_solids"]


class MaterialForm(forms.Form):
    """Name, how it keeps, and figures with where they come from."""

    name = forms.CharField(label=_("Name"), max_length=120)
    code = forms.SlugField(
        label=_("Short name"),
        max_length=40,
        help_text=_("Small letters, digits and hyphens; sheets use it."),
    )
    ts_pct_wet = forms.DecimalField(
        label=QUANTITY_NAMES["ts_pct_wet"], required=False, localize=True,
        min_value=Decimal(0), max_value=Decimal(100), decimal_places=3,
        help_text=_("% of fresh mass: dry a weighed sample at 105 °C and weigh it again."),
    )  # fmt: skip
    vs_pct_ts = forms.DecimalField(
        label=QUANTITY_NAMES["vs_pct_ts"], required=False, localize=True,
        min_value=Decimal(0), max_value=Decimal(100), decimal_places=3,
        help_text=_("% of dry mass: what burns off at 550 °C. A laboratory does this."),
    )  # fmt: skip
    bmp_m3_per_kg_vs = forms.DecimalField(
        label=QUANTITY_NAMES["bmp_m3_per_kg_vs"], required=False, localize=True,
        min_value=Decimal(0), decimal_places=4,
        help_text=_("Standard m³ of methane for each kg of volatile solids."),
    )  # fmt: skip
    cn_ratio = forms.DecimalField(
        label=QUANTITY_NAMES["cn_ratio"], required=False, localize=True,
        min_value=Decimal(0), decimal_places=2,
    )  # fmt: skip
    bulk_density_kg_per_l = forms.DecimalField(
        label=QUANTITY_NAMES["bulk_density_kg_per_l"], required=False, localize=True,
        min_value=Decimal(0), decimal_places=3,
        help_text=_("kg/L: weigh a full pail of known size."),
    )  # fmt: skip
    source = forms.CharField(
        label=_("Where the figures come from"),
        max_length=300,
        help_text=_("Who measured, when and how. Everybody can read it."),
    )
    holding = forms.ChoiceField(label=_("How it keeps"), choices=Holding.choices)
    share_groups = forms.MultipleChoiceField(
        label=_("It counts as"), required=False, choices=risk_choices,
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    buffers = forms.BooleanField(
        label=_("Like dung, it steadies the digester against acid"), required=False
    )
    cautions = forms.CharField(
        label=_("What to mind with it"), required=False, max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation; a quantity left empty makes no claim."""
        cleaned = self.cleaned_data
        return {
            "code": cleaned["code"],
            "name": cleaned["name"],
            "figures": {
                quantity: Given(cleaned[quantity], cleaned["source"])
                for quantity in ASKED
                if cleaned.get(quantity) is not None
            },
            "share_groups": tuple(cleaned["share_groups"]),
            "holding": cleaned["holding"],
            "buffers": cleaned["buffers"],
            "cautions": cleaned["cautions"],
        }
