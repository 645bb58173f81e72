"""What to rehearse: the neighbourhood as it is, or with a change."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.places.models import Place
from apps.rehearsal.models.rehearsal import MOST_DAYS
from apps.web.forms.amounts import KilogramsField, LitresField
from apps.web.forms.places import OfGroup

SHORTEST_DAYS = 7


def _day(label: Any) -> forms.DateField:
    return forms.DateField(
        label=label, required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )  # fmt: skip


class RehearsalForm(OfGroup):
    """A name, how long, and what is to be different."""

    name = forms.CharField(
        label=_("What do you want to know?"), max_length=120,
        help_text=_("Such as: what if the school canteen joins."),
    )  # fmt: skip
    days = forms.IntegerField(
        label=_("Days"), min_value=SHORTEST_DAYS, max_value=MOST_DAYS, initial=365
    )
    canteen_place = forms.ChoiceField(label=_("A canteen joins at"), required=False)
    canteen_g = KilogramsField(label=_("It gives on a working day, kg"), required=False)
    digester_place = forms.ChoiceField(label=_("A digester joins at"), required=False)
    digester_ml = LitresField(label=_("Its tank, in L of slurry"), required=False)
    homes_away = forms.IntegerField(
        label=_("So many more homes are away"), min_value=0, max_value=200, required=False
    )
    away_first_on = _day(_("Away from"))
    away_last_on = _day(_("Away until"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = list(Place.objects.of(self.group).order_by("name"))
        self.offer("canteen_place", places, empty=True)
        self.offer("digester_place", places, empty=True)

    def clean(self) -> dict[str, Any]:
        """A change is told whole or not at all."""
        cleaned: dict[str, Any] = super().clean() or {}
        for place, amount in (("canteen_place", "canteen_g"), ("digester_place", "digester_ml")):
            if bool(cleaned.get(place)) != bool(cleaned.get(amount)):
                missing = amount if cleaned.get(place) else place
                self.add_error(missing, _now("Give the place and the amount, or neither."))
        first, last = cleaned.get("away_first_on"), cleaned.get("away_last_on")
        if cleaned.get("homes_away") and not (
            isinstance(first, date) and isinstance(last, date) and first <= last
        ):
            self.add_error("away_last_on", _now("Give the first and the last day away."))
        return cleaned

    def change(self) -> dict[str, Any]:
        """What to hand to `tried_change`."""
        cleaned = self.cleaned_data
        return {
            "canteen_place": self.row("canteen_place"),
            "canteen_g": cleaned.get("canteen_g") or 0,
            "digester_place": self.row("digester_place"),
            "digester_ml": cleaned.get("digester_ml") or 0,
            "homes_away": cleaned.get("homes_away") or 0,
            "away_first_on": cleaned.get("away_first_on"),
            "away_last_on": cleaned.get("away_last_on"),
        }
