"""Where something was noticed, and a note about it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.digesters.operations.raise_concern import NOTE_LENGTH
from apps.places.models import Place

MOST_LISTED = 200
"""Public places in the list; others are found by their code."""


class PlaceForm(forms.Form):
    """The code on a label, or a public place from the list."""

    code = forms.CharField(
        label=_("Code on the label"),
        required=False,
        max_length=90,
        help_text=_("It stands on the label at the digester or the stall."),
    )
    public = forms.ChoiceField(label=_("No label? A public place near you"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = list(
            Place.unscoped.filter(is_public=True)
            .select_related("group")
            .order_by("group__name", "area", "name")[:MOST_LISTED]
        )
        self.public = {str(each.uuid): each for each in rows}
        listed: dict[str, list[tuple[str, str]]] = {}
        for key, each in self.public.items():
            words = f"{each.area} – {each.name}" if each.area else each.name
            listed.setdefault(each.group.name, []).append((key, words))
        self.fields["public"].choices = [  # type: ignore[attr-defined]
            ("", gettext("choose")),
            *listed.items(),
        ]

    def clean(self) -> dict[str, Any]:
        """Exactly one place, else what to do next."""
        cleaned = super().clean() or {}
        text = str(cleaned.get("code") or "").strip().strip("/").lower()
        self._found = self.public.get(cleaned.get("public") or "")
        if text:
            self._found = self._by_code(text)
        elif self._found is None and not self.errors:
            self.add_error(
                "code", gettext("Write the code on the label, or choose a public place.")
            )
        return cleaned

    def place(self) -> Place:
        """The one meant."""
        assert self._found is not None
        return self._found

    def _by_code(self, text: str) -> Place | None:
        """`code`, or `group/code` where several groups have the same one."""
        group, _slash, code = text.rpartition("/")
        rows = Place.unscoped.select_related("group").filter(code=code)
        if group:
            rows = rows.filter(group__code=group.rpartition("/")[2])
        found = list(rows[:2])
        if len(found) == 1:
            return found[0]
        self.add_error(
            "code",
            gettext("Several groups have this code. Write the whole line of the label.")
            if found
            else gettext("No place has this code. Look at the label again, or choose below."),
        )
        return None


class NoteForm(forms.Form):
    """A few words; nobody needs to write them."""

    note = forms.CharField(
        label=_("What do you notice, and where exactly?"),
        required=False,
        max_length=NOTE_LENGTH,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Do not write names or telephone numbers."),
    )
