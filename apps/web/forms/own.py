"""What a member chooses for themselves."""

from __future__ import annotations

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _

from apps.people.operations.make_api_token import LONGEST_LIFE_DAYS


class LanguageForm(forms.Form):
    """One of the languages spoken here."""

    language = forms.ChoiceField(
        label=_("Language of pages and messages"),
        choices=settings.LANGUAGES,
        widget=forms.RadioSelect,
    )


class TokenForm(forms.Form):
    """What the token is for, and how long it lives."""

    label = forms.CharField(label=_("What it is for"), max_length=60)
    life_days = forms.IntegerField(
        label=_("Days it lives"),
        min_value=1,
        max_value=LONGEST_LIFE_DAYS,
        initial=90,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "numeric"}),
    )
