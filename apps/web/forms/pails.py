"""A pail, and what was noted of it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.people.models import Member
from apps.pickups.models import Pail, PailStep
from apps.supply.models import Source
from apps.web.forms.amounts import KilogramsField, LitresField


class PailForm(forms.Form):
    """`save_pail` takes it as it is."""

    code = forms.SlugField(
        label=_("Number painted on it"), max_length=40, help_text=_("Digits or letters, like 12.")
    )
    tare_g = KilogramsField(
        label=_("Empty weight with its lid, in kg"), help_text=_("Weigh it, like 0.9.")
    )
    volume_ml = LitresField(
        label=_("Litres it holds"),
        initial=10_000,
        help_text=_("At most 16, so that nobody lifts more than 15 kg."),
    )
    has_lid = forms.BooleanField(label=_("It has a lid"), required=False, initial=True)
    owner = forms.ModelChoiceField(
        label=_("Whose it is"),
        queryset=Member.unscoped.none(),
        required=False,
        empty_label=_("the group’s"),
    )

    def __init__(self, *args: Any, group: Group, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        members = Member.objects.of(group).filter(left_at=None).order_by("name")
        self.fields["owner"].queryset = members  # type: ignore[attr-defined]
        self.fields["owner"].label_from_instance = lambda who: who.name  # type: ignore[attr-defined]


class PailNoteForm(forms.Form):
    """One thing seen; a place only where it was brought or found, a clean pail only where it
    was exchanged."""

    step = forms.ChoiceField(
        label=_("What happened"), choices=PailStep.choices, widget=forms.RadioSelect
    )
    where = forms.ChoiceField(
        label=_("Where it stands now"),
        required=False,
        help_text=_("If it was brought or found."),
    )
    exchanged_for = forms.ChoiceField(
        label=_("The clean pail that stays"), required=False, help_text=_("If it was exchanged.")
    )

    def __init__(self, *args: Any, pail: Pail, group: Group, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pail = pail
        sources = Source.objects.of(group).filter(is_active=True).order_by("name")
        homes = Digester.objects.of(group).order_by("name")
        others = Pail.objects.of(group).filter(is_retired=False).exclude(pk=pail.pk)
        self.places: dict[str, Source | Digester] = {
            **{f"source:{each.code}": each for each in sources},
            **{f"home:{each.code}": each for each in homes},
        }
        self.others = {each.code: each for each in others}
        self.fields["where"].choices = [  # type: ignore[attr-defined]
            ("", gettext("with its owner")),
            *((key, each.name) for key, each in self.places.items()),
        ]
        self.fields["exchanged_for"].choices = [  # type: ignore[attr-defined]
            ("", gettext("choose")),
            *((code, code) for code in self.others),
        ]

    def note(self) -> dict[str, Any]:
        """What to hand to `note_pail`."""
        step = PailStep(self.cleaned_data["step"])
        place = self.places.get(self.cleaned_data.get("where") or "")
        return {
            "step": step,
            "source": place if isinstance(place, Source) else None,
            "digester": place if isinstance(place, Digester) else None,
            "exchanged_for": self.others.get(self.cleaned_data.get("exchanged_for") or ""),
        }
