"""A change that the assigner tries on a plan."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.planning.models import Plan
from apps.web.forms.amounts import KilogramsField

KEEP, MOVE, DROP, NEVER = "keep", "move", "drop", "never"


class ChangeForm(forms.Form):
    """What to do with a batch: keep it, move it, or rule its pair out."""

    what = forms.ChoiceField(
        choices=[(KEEP, KEEP), (MOVE, MOVE), (DROP, DROP), (NEVER, NEVER)],
        widget=forms.HiddenInput,
    )
    digester = forms.ChoiceField(label=_("To"))
    on = forms.ChoiceField(label=_("On"))
    amount_g = KilogramsField(
        label=_("How much, in kg"),
        required=False,
        help_text=_("Empty: as much as the plan finds right."),
    )

    def __init__(self, *args: Any, plan: Plan, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["digester"].choices = [  # type: ignore[attr-defined]
            (row["code"], row["name"])
            for row in sorted(plan.document["digesters"], key=lambda row: row["name"])
        ]
        days = [plan.starts_on + timedelta(days=index) for index in range(plan.days)]
        self.fields["on"].choices = [  # type: ignore[attr-defined]
            (day.isoformat(), date_format(day, gettext("D j F"))) for day in days
        ]

    def clean_on(self) -> date:
        """A day of the plan."""
        return date.fromisoformat(self.cleaned_data["on"])
