"""Minutes before the end at which somebody is reminded, and who stands by."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.people.models import Member
from apps.pickups.core.ladder import Times
from apps.pickups.models import Ladder
from apps.pickups.models.ladder import MOST_MIN

NAMES = ("reminder_min", "second_reminder_min", "standby_min", "coordinator_min")


def _minutes(label: Any) -> forms.IntegerField:
    return forms.IntegerField(
        label=label,
        min_value=0,
        max_value=MOST_MIN,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "numeric"}),
    )


class LadderForm(forms.Form):
    """Each later than the one before."""

    reminder_min = _minutes(_("Remind who has not answered, minutes before the end"))
    second_reminder_min = _minutes(_("Remind whoever goes once more, minutes before the end"))
    standby_min = _minutes(_("Ask those on standby, minutes before the end"))
    coordinator_min = _minutes(_("Tell the coordinators, minutes before the end"))
    people = forms.MultipleChoiceField(
        label=_("On standby"), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(
        self,
        *args: Any,
        ladder: Ladder,
        people: Sequence[Member],
        standing_by: Collection[str],
        **kwargs: Any,
    ) -> None:
        initial: dict[str, Any] = {name: getattr(ladder, name) for name in NAMES}
        super().__init__(*args, initial={**initial, "people": sorted(standing_by)}, **kwargs)
        self.by_code = {each.code: each for each in people}
        self.fields["people"].choices = [  # type: ignore[attr-defined]
            (each.code, each.name) for each in people
        ]

    def clean(self) -> dict[str, Any]:
        """In their order."""
        cleaned = super().clean() or {}
        given = [cleaned.get(name) for name in NAMES]
        if None not in given and given != sorted(given, reverse=True):  # type: ignore[type-var]
            self.add_error(
                None,
                gettext("Each comes later than the one before: give smaller and smaller figures."),
            )
        return cleaned

    def times(self) -> Times:
        """The four."""
        return Times(*(self.cleaned_data[name] for name in NAMES))

    def standby(self) -> list[Member]:
        """Those ticked."""
        return [self.by_code[code] for code in self.cleaned_data["people"]]
