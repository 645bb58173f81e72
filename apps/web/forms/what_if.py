"""What if a digester were fed so much for a while?"""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.digesters.queries.try_feed import MOST_WHAT_IF_DAYS
from apps.web.forms.amounts import KilogramsField


class WhatIfForm(forms.Form):
    """Kilograms a day of what it usually gets, and for how long."""

    feed = KilogramsField(label=_("Kilograms a day of its usual mix"), least=0)
    days = forms.IntegerField(
        label=_("For how many days"),
        min_value=1,
        max_value=MOST_WHAT_IF_DAYS,
        initial=7,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "numeric"}),
    )
