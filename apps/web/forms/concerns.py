"""The answer to what was reported."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _


class AnswerForm(forms.Form):
    """Who tested for tightness is asked only after a smell of gas."""

    tightness_tested_by = forms.CharField(
        label=_("Who tested it for tightness"),
        max_length=120,
        help_text=_("Soapy water, never a flame. Gas work is for a licensed person."),
    )
    tightness_tested_on = forms.DateField(
        label=_("Tested on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    answer = forms.CharField(
        label=_("What was found and done"),
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Whoever reported it reads this."),
    )

    def __init__(self, *args: Any, is_gas: bool, today: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"tightness_tested_on": today}, **kwargs)
        if not is_gas:
            del self.fields["tightness_tested_by"], self.fields["tightness_tested_on"]
