"""Liquid fertiliser that left a digester."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.digestate.core.dilution import USE_NAMES, Use
from apps.web.forms.amounts import LitresField
from apps.web.templatetags.shown import say


class OutflowForm(forms.Form):
    """How much, for what, and when."""

    amount = LitresField(label=_("Litres, before water is added"))
    use = forms.ChoiceField(label=_("What it goes to"), widget=forms.RadioSelect)
    on = forms.DateField(
        label=_("Taken on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"on": on}, **kwargs)
        self.fields["use"].choices = [  # type: ignore[attr-defined]
            (use.value, say(name)) for use, name in USE_NAMES.items()
        ]

    def chosen_use(self) -> Use:
        """The one chosen."""
        return Use(self.cleaned_data["use"])
