"""A holiday, a market closing day or a festival."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.supply.core.day_effects import MOST_PERCENT
from apps.supply.models import CalendarKind, SourceKind
from apps.web.forms.places import CODE_HELP


def _day(label: Any) -> forms.DateField:
    return forms.DateField(
        label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


class CalendarDayForm(forms.Form):
    """Which days, and what they do to whom."""

    code = forms.SlugField(label=_("Short name"), max_length=40, help_text=CODE_HELP)
    name = forms.CharField(label=_("Name"), max_length=120)
    kind = forms.ChoiceField(label=_("Kind"), choices=CalendarKind.choices)
    first_on = _day(_("First day"))
    last_on = _day(_("Last day"))
    is_yearly = forms.BooleanField(
        label=_("Every year on the same days"), required=False,
        help_text=_("29 February is kept on 28 February in years that have none."),
    )  # fmt: skip
    amount_percent = forms.IntegerField(
        label=_("Waste on such a day, in % of a usual day"),
        min_value=0, max_value=MOST_PERCENT, initial=0,
        help_text=_("0: shut, nobody goes there. 200: twice as much."),
    )  # fmt: skip
    source_kinds = forms.MultipleChoiceField(
        label=_("For which sources"), choices=SourceKind.choices, required=False,
        widget=forms.CheckboxSelectMultiple, help_text=_("None ticked: for all."),
    )  # fmt: skip
