"""Days away."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.people.models import Member


def _day(label: Any) -> forms.DateField:
    return forms.DateField(
        label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


class AwayForm(forms.Form):
    """Both days included, and who has the key."""

    first_on = _day(_("First day away"))
    last_on = _day(_("Last day away"))
    keyholder = forms.ModelChoiceField(
        label=_("Who has the key and feeds it"),
        queryset=Member.unscoped.none(),
        required=False,
        empty_label=_("nobody"),
    )

    def __init__(
        self, *args: Any, keyholders: QuerySet[Member], today: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["keyholder"].queryset = keyholders  # type: ignore[attr-defined]
        self.fields["keyholder"].label_from_instance = lambda who: who.name  # type: ignore[attr-defined]

    def clean_last_on(self) -> date:
        """Days that are over cannot be planned for."""
        last_on: date = self.cleaned_data["last_on"]
        if last_on < self.today:
            raise forms.ValidationError(gettext("That day is over. Give a day to come."))
        return last_on
