"""A digester's own value for one limit, with the reason."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.digesters.queries.own_limits import OwnLimit
from apps.web.names import unit_name


class LimitForm(forms.Form):
    """Which limit, the value in its unit, and why."""

    limit_id = forms.ChoiceField(label=_("Limit"))
    value = forms.DecimalField(
        label=_("New value"),
        max_digits=12,
        decimal_places=4,
        localize=True,
        help_text=_("In the unit that stands beside the limit."),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
    )
    reason = forms.CharField(
        label=_("Why"), max_length=200, help_text=_("Whoever runs this digester reads it.")
    )

    def __init__(self, *args: Any, limits: tuple[OwnLimit, ...], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["limit_id"].choices = [  # type: ignore[attr-defined]
            (each.limit_id, f"{gettext(each.name)} ({unit_name(each.unit)})") for each in limits
        ]

    def asked(self) -> tuple[str, Decimal, str]:
        """Limit, value, reason."""
        return (
            self.cleaned_data["limit_id"],
            self.cleaned_data["value"],
            self.cleaned_data["reason"],
        )
