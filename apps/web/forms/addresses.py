"""Why somebody opens an address."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class OpenAddressForm(forms.Form):
    """The reason, which whoever lives there can read."""

    reason = forms.CharField(
        label=_("Why do you need it?"),
        max_length=200,
        help_text=_("It is written down with your name, and the household can read it."),
    )
