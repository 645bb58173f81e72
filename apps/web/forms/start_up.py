"""What a step of the start-up asks for."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.digesters.core.start_up import StartStep
from apps.digesters.operations.take_start_up_step import Loss
from apps.web.forms.amounts import LitresField


class StepForm(forms.Form):
    """The day, the figures of the step, and somebody's word for it."""

    lost_ml = LitresField(label=_("Litres it lost"), least=0)
    hours = forms.IntegerField(
        label=_("In so many hours"),
        initial=24,
        min_value=12,
        max_value=96,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "numeric"}),
    )
    filled_with = forms.ChoiceField(
        label=_("What it was filled with"),
        widget=forms.RadioSelect,
        choices=[
            ("dung", _("fresh cattle dung and water")),
            ("slurry", _("slurry of a healthy neighbour and water")),
        ],
        initial="dung",
    )
    on = forms.DateField(
        label=_("On which day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    seen = forms.BooleanField(
        label=_("I have seen it myself and vouch for it"),
        error_messages={"required": _("Tick it only when you have seen it yourself.")},
    )

    def __init__(self, *args: Any, step: StartStep, today: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"on": today}, **kwargs)
        if step is not StartStep.TIGHT:
            del self.fields["lost_ml"], self.fields["hours"]
        if step is not StartStep.SEED:
            del self.fields["filled_with"]

    def loss(self) -> Loss | None:
        """For the tightness test only."""
        if "lost_ml" not in self.fields:
            return None
        return Loss(self.cleaned_data["lost_ml"], self.cleaned_data["hours"])
