"""A step in a digester's life, with what was seen."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.digesters.core.stages import TRANSITIONS, Evidence, Stage
from apps.digesters.models import StageName


class StageForm(forms.Form):
    """The next stage, the day, and the evidence that somebody vouches for."""

    goal = forms.ChoiceField(label=_("It is now"), widget=forms.RadioSelect)
    seen = forms.MultipleChoiceField(
        label=_("What you have seen yourself"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Tick only what is true; a step without its evidence is refused."),
    )
    on = forms.DateField(
        label=_("Since"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, stage: str, today: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"on": today}, **kwargs)
        origin = Stage(stage)
        steps = [step for step in TRANSITIONS if step.origin is origin]
        needed = {each for step in steps for each in step.evidence}
        self.fields["goal"].choices = [  # type: ignore[attr-defined]
            (step.goal.value, StageName(step.goal.value).label) for step in steps
        ]
        self.fields["seen"].choices = [  # type: ignore[attr-defined]
            (each.name, gettext(each.value)) for each in Evidence if each in needed
        ]
        self.cautions = list(dict.fromkeys(step.caution for step in steps))

    def step(self) -> tuple[Stage, list[Evidence], date]:
        """What to hand to the operation."""
        return (
            Stage(self.cleaned_data["goal"]),
            [Evidence[name] for name in self.cleaned_data["seen"]],
            self.cleaned_data["on"],
        )
