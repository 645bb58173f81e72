"""Waste to take out of a bin."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.feedstock.models import Material
from apps.ledger.models import AccountKind
from apps.web.forms.amounts import KilogramsField
from apps.web.templatetags.shown import kg, say

GOALS = {
    AccountKind.COMPOSTED: _("onto the compost"),
    AccountKind.SPOILED: _("spoiled, to the rubbish"),
    AccountKind.RETURNED: _("back to where it came from"),
    AccountKind.DISCARDED: _("thrown away for another reason"),
}


class AsideForm(forms.Form):
    """A field for each material in the bin, and where it goes."""

    where = forms.ChoiceField(
        label=_("Where it goes"),
        widget=forms.RadioSelect,
        choices=[(kind.value, words) for kind, words in GOALS.items()],
        initial=AccountKind.COMPOSTED.value,
    )

    def __init__(self, *args: Any, in_bin: Sequence[tuple[Material, int]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.in_bin = list(in_bin)
        for material, amount_g in self.in_bin:
            self.fields[material.code] = KilogramsField(
                label=f"{say(material.name)}, kg",
                help_text=gettext("In the bin: %(amount)s") % {"amount": kg(amount_g)},
                initial=amount_g,
                required=False,
                least=0,
            )

    def clean(self) -> dict[str, Any]:
        """No more than there is, and not nothing."""
        cleaned = super().clean() or {}
        for material, held_g in self.in_bin:
            if (cleaned.get(material.code) or 0) > held_g:
                self.add_error(
                    material.code,
                    gettext("Only %(amount)s lie in the bin.") % {"amount": kg(held_g)},
                )
        if not self.errors and not self.amounts_g():
            self.add_error(None, gettext("All amounts are 0. Write what is taken out."))
        return cleaned

    def amounts_g(self) -> dict[Material, int]:
        """Grams by material, what is not 0."""
        return {
            material: self.cleaned_data[material.code]
            for material, _held_g in self.in_bin
            if self.cleaned_data.get(material.code)
        }

    def goal(self) -> AccountKind:
        """The kind of account it goes to."""
        return AccountKind(self.cleaned_data["where"])
