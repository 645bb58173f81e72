"""What shall come every week."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.planning.models import Weekday
from apps.supply.models import Stream
from apps.web.forms.amounts import KilogramsField
from apps.web.templatetags.shown import say


class StandingForm(forms.Form):
    """Which waste, to which home, on which day of the week."""

    stream = forms.ChoiceField(label=_("What, and from where"))
    digester = forms.ChoiceField(label=_("To"))
    weekday = forms.TypedChoiceField(label=_("Every"), choices=Weekday.choices, coerce=int)
    amount_g = KilogramsField(
        label=_("How much, in kg"),
        required=False,
        help_text=_("Empty: as much as the plan finds right."),
    )

    def __init__(
        self, *args: Any, streams: Sequence[Stream], digesters: Sequence[Digester], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.streams = {each.code: each for each in streams}
        self.digesters = {each.code: each for each in digesters}
        self.fields["stream"].choices = [  # type: ignore[attr-defined]
            (code, f"{each.source.name}: {say(each.material.name)}")
            for code, each in self.streams.items()
        ]
        self.fields["digester"].choices = [  # type: ignore[attr-defined]
            (code, each.name) for code, each in self.digesters.items()
        ]

    def asked(self) -> dict[str, Any]:
        """As `ask_standing` takes it."""
        chosen = self.cleaned_data
        return {
            "stream": self.streams[chosen["stream"]],
            "digester": self.digesters[chosen["digester"]],
            "weekday": chosen["weekday"],
            "amount_g": chosen["amount_g"],
        }
