"""What went into a digester, in kilograms, litres or the home's own measures."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import get_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.feedstock.core.measures import MeasureCount
from apps.feedstock.models import Material
from apps.kernel.quantities import MAX_FACT, UnreadableAmount, parse_thousandths
from apps.ledger.queries.balances import balances_g
from apps.pickups.queries.daily_recipe import DailyRecipe, daily_recipe
from apps.planning.queries.recipes import HomeMeasures, home_measures
from apps.web.templatetags.shown import say, typed

KG, LITRES, MEASURES = "kg", "litres", "measures"
UNITS = {KG: _("kilograms"), LITRES: _("litres")}


@dataclass(frozen=True, slots=True)
class Meal:
    """Grams by material, water, and the day."""

    from_bin_g: Mapping[Material, int]
    own_waste_g: Mapping[Material, int]
    water_ml: int
    on: date


@dataclass(frozen=True, slots=True)
class FeedingStart:
    """What the form begins with: the recipe, what lies in the bin, and the own measures."""

    recipe: DailyRecipe
    in_bin_g: Mapping[Material, int]
    own: tuple[Material, ...]
    measures: HomeMeasures


def feeding_start(digester: Digester, on: date) -> FeedingStart:
    """A constant number of queries."""
    materials = {each.code: each for each in Material.objects.of(digester.group)}
    bin_id = digester.bin_account_id
    in_bin_g = balances_g(digester.group, [bin_id]).get(bin_id, {})
    recipe = daily_recipe(digester, on)
    usual = digester.own_waste.select_related("material").order_by("material__code")
    own = {each.code: each for each in recipe.own_waste_g}
    own |= {each.material.code: each.material for each in usual}
    return FeedingStart(
        recipe=recipe,
        in_bin_g={materials[code]: amount_g for code, amount_g in in_bin_g.items() if amount_g},
        own=tuple(own.values()),
        measures=home_measures(digester.group),
    )


class FeedingForm(forms.Form):
    """A field for each material in the bin and of the own kitchen, and water."""

    unit = forms.ChoiceField(label=_("I give the amounts in"), widget=forms.RadioSelect, initial=KG)
    on = forms.DateField(
        label=_("Fed on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, start: FeedingStart, on: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"on": on, "unit": KG}, **kwargs)
        self.start = start
        units = dict(UNITS)
        self.has_measures = bool(start.measures.for_waste and start.measures.for_water)
        if self.has_measures:
            units[MEASURES] = _("%(waste)s and %(water)s") % {  # type: ignore[assignment]
                "waste": gettext(start.measures.for_waste.name),  # type: ignore[union-attr]
                "water": gettext(start.measures.for_water.name),  # type: ignore[union-attr]
            }
        self.fields["unit"].choices = list(units.items())  # type: ignore[attr-defined]
        self.rows = [
            *(("bin", each, start.recipe.from_bin_g.get(each, 0)) for each in start.in_bin_g),
            *(("own", each, start.recipe.own_waste_g.get(each, 0)) for each in start.own),
        ]
        for place, material, amount_g in self.rows:
            name = say(material.name)
            label = (
                gettext("%(name)s from the bin")
                if place == "bin"
                else gettext("Own kitchen: %(name)s")
            ) % {"name": name}
            self.fields[f"{place}-{material.code}"] = _amount_field(label, _round(amount_g))
        water = _amount_field(gettext("Water"), _round(start.recipe.water_ml))
        water.help_text = gettext("In litres, or in your own measure.")
        self.fields["water"] = water
        self.order_fields(["unit", *[n for n in self.fields if n not in ("unit", "on")], "on"])

    def clean(self) -> dict[str, Any]:
        """Read each amount in the unit chosen."""
        cleaned = super().clean() or {}
        unit = cleaned.get("unit", KG)
        self.amounts: dict[str, int] = {}
        for name in [*(f"{place}-{each.code}" for place, each, _g in self.rows), "water"]:
            try:
                self.amounts[name] = self._read(str(cleaned.get(name) or ""), unit, name == "water")
            except UnreadableAmount as error:
                self.add_error(name, say(error))
            except ValidationError as error:
                self.add_error(name, error)
        if not self.errors and not any(self.amounts.values()):
            self.add_error(None, gettext("All amounts are 0. Write what went in."))
        return cleaned

    def meal(self) -> Meal:
        """What was understood."""

        def of(place: str) -> dict[Material, int]:
            return {
                each: self.amounts[f"{place}-{each.code}"]
                for where, each, _g in self.rows
                if where == place and self.amounts[f"{place}-{each.code}"]
            }

        return Meal(of("bin"), of("own"), self.amounts["water"], self.cleaned_data["on"])

    def _read(self, text: str, unit: str, is_water: bool) -> int:
        """Grams of waste (1 kg/L) or millilitres of water."""
        text = text.strip()
        if not text:
            return 0
        if unit == MEASURES:
            measures = self.start.measures
            measure = measures.for_water if is_water else measures.for_waste
            assert measure is not None
            return MeasureCount(measure, read_halves(text)).volume_ml
        return parse_thousandths(
            text,
            unit="L" if is_water or unit == LITRES else "kg",
            decimal_mark=str(get_format("DECIMAL_SEPARATOR")),
            least=0,
        )


def read_halves(text: str) -> int:
    """ "1", "½", "1½", "1.5" and "1 1/2" as a number of halves."""
    mark = re.escape(str(get_format("DECIMAL_SEPARATOR")))
    plain = text.replace("1/2", "½").replace(" ", "")
    found = re.fullmatch(rf"(?P<whole>[0-9]{{0,3}})(?P<half>½|{mark}[05])?", plain, re.ASCII)
    if found is None or not plain:
        raise ValidationError(
            gettext("“%(given)s” is no count. Write whole and half measures, like 1 or 1½.")
            % {"given": text[:20]}
        )
    half = found["half"] or ""
    halves = int(found["whole"] or 0) * 2 + (half == "½" or half.endswith("5"))
    if halves * 1000 > MAX_FACT:
        raise ValidationError(gettext("“%(given)s” is too many.") % {"given": text[:20]})
    return halves


def _amount_field(label: str, start: str) -> forms.CharField:
    return forms.CharField(
        label=label,
        required=False,
        initial=start,
        max_length=20,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "text"}),
    )


def _round(amount: int) -> str:
    """As far as people weigh and pour."""
    return typed(round(amount, -2 if amount >= 1000 else -1))
