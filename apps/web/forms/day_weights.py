"""What was weighed at a pickup, with or without a numbered pail."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.pickups.models import ForeignKind, Pail, Pickup, PickupLine
from apps.pickups.operations.complete_pickup import Weight
from apps.pickups.operations.note_pail import PailRefused, weigh_pail
from apps.pickups.queries.pails import pails
from apps.web.forms.amounts import KilogramsField
from apps.web.templatetags.shown import kg, say


@dataclass(frozen=True, slots=True)
class Weighed:
    """One line's net weights, and what was set aside of it."""

    line: PickupLine
    weight: Weight
    kind: ForeignKind


class WeightsForm(forms.Form):
    """For each line what the scale shows, the pail it stood in, and what was set aside."""

    refused = forms.BooleanField(
        label=_("It was too dirty: I left all of it there"), required=False
    )

    def __init__(self, *args: Any, pickup: Pickup, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = list(pickup.lines.all())
        self.pails: dict[str, Pail] = {each.code: each for each in pails(pickup.group)}
        for at, line in enumerate(self.lines):
            name = say(line.stream.material.name)
            self.fields[f"weight-{at}"] = KilogramsField(
                label=gettext("%(name)s: kilograms on the scale") % {"name": name},
                help_text=gettext("Planned: %(amount)s") % {"amount": kg(line.planned_g)},
                initial=round(line.planned_g, -2) or line.planned_g,
                required=False,
                least=0,
            )
            if self.pails:
                self.fields[f"pail-{at}"] = forms.ChoiceField(
                    label=gettext("Weighed with pail"),
                    required=False,
                    choices=[
                        ("", gettext("no pail on the scale")),
                        *(
                            (each.code, f"{each.code} ({kg(each.tare_g)})")
                            for each in self.pails.values()
                        ),
                    ],
                )
            self.fields[f"foreign-{at}"] = KilogramsField(
                label=gettext("Of it set aside, in kilograms"),
                help_text=gettext("Plastic, bones and the like, once taken out."),
                required=False,
                least=0,
            )
        self.fields["kind"] = forms.ChoiceField(
            label=gettext("What was in it that does not belong"),
            required=False,
            choices=[("", gettext("nothing")), *ForeignKind.choices],
        )
        self.order_fields([n for n in self.fields if n != "refused"] + ["refused"])

    def clean(self) -> dict[str, Any]:
        """Net weights, or what is wrong with them beside the field."""
        cleaned = super().clean() or {}
        self.found: list[Weighed] = []
        if self.errors:
            return cleaned
        if cleaned.get("refused"):
            if not cleaned.get("kind"):
                self.add_error("kind", gettext("Say what was in it."))
            return cleaned
        for at, line in enumerate(self.lines):
            self._weigh(at, line, cleaned)
        aside = any(each.weight.collected_g > each.weight.delivered_g for each in self.found)
        if aside and not cleaned.get("kind"):
            self.add_error("kind", gettext("Say what was in it."))
        return cleaned

    def weighed(self) -> list[Weighed]:
        """One a line."""
        return self.found

    def found_kind(self) -> ForeignKind:
        """What was found."""
        return ForeignKind(self.cleaned_data["kind"] or ForeignKind.OTHER)

    def _weigh(self, at: int, line: PickupLine, cleaned: dict[str, Any]) -> None:
        gross_g = cleaned.get(f"weight-{at}")
        foreign_g = cleaned.get(f"foreign-{at}") or 0
        pail = self.pails.get(cleaned.get(f"pail-{at}") or "")
        kind = ForeignKind(cleaned.get("kind") or ForeignKind.OTHER)
        if gross_g is None:
            self.add_error(f"weight-{at}", gettext("Write the weight; 0 where there was nothing."))
            return
        if pail is None:
            if foreign_g > gross_g:
                self.add_error(
                    f"foreign-{at}",
                    gettext("More was set aside than was on the scale. Check both."),
                )
                return
            weight = Weight(gross_g, gross_g - foreign_g)
        else:
            try:
                net = weigh_pail(pail, gross_g, foreign_g)
            except PailRefused as error:
                self.add_error(f"weight-{at}", say(error))
                return
            weight = Weight(net.collected_g, net.delivered_g)
        self.found.append(Weighed(line, weight, kind))
