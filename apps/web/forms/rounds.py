"""Building a round, and how somebody carries."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import time
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.places.models import Place
from apps.rounds.models import Carrier, Moving
from apps.rounds.operations.save_carrier import RestWish
from apps.web.forms.amounts import KilogramsField
from apps.web.forms.places import OfGroup


def _time(label: Any, **more: Any) -> forms.TimeField:
    widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    return forms.TimeField(label=label, widget=widget, **more)


def minutes(at: time | None) -> int | None:
    """After midnight."""
    return None if at is None else at.hour * 60 + at.minute


def wall_clock(minute: int | None) -> time | None:
    """The other way; the end of a day is its last minute."""
    return None if minute is None else time(min(minute, 1439) // 60, min(minute, 1439) % 60)


class BuildForm(forms.Form):
    """Who carries, one or several, and when; empty hours are each carrier's own."""

    carrier = forms.MultipleChoiceField(
        label=_("Who carries"),
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Several share the pickups out so that least time is spent in all."),
    )
    on = forms.DateField(
        label=_("On which day"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    from_min = _time(_("From"), required=False, help_text=_("Empty: the carrier's own hours."))
    till_min = _time(_("Until"), required=False)

    def __init__(self, *args: Any, carriers: Sequence[Carrier], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_code = {each.member.code: each for each in carriers}
        self.fields["carrier"].choices = [  # type: ignore[attr-defined]
            (code, each.member.name) for code, each in self.by_code.items()
        ]
        if len(self.by_code) == 1:
            self.fields["carrier"].initial = list(self.by_code)

    def chosen(self) -> list[Carrier]:
        """Who carries, in the order of the list."""
        return [each for code, each in self.by_code.items() if code in self.cleaned_data["carrier"]]

    def hours(self) -> dict[str, int | None]:
        """As the operation takes them."""
        return {name: minutes(self.cleaned_data[name]) for name in ("from_min", "till_min")}


class CarrierForm(OfGroup):
    """On what, how much, when, from where, and where not."""

    moving = forms.ChoiceField(label=_("Moves"), choices=Moving.choices)
    load_limit_g = KilogramsField(label=_("The cart takes at most, kg"), least=0)
    start = forms.ChoiceField(label=_("Starts at"))
    end = forms.ChoiceField(label=_("Ends at"), required=False)
    from_min = _time(_("From"))
    till_min = _time(_("Until"))
    rest_min = forms.IntegerField(
        label=_("Rest, in minutes"), required=False, min_value=1, max_value=240,
        help_text=_("Empty: no rest is planned."),
    )  # fmt: skip
    rest_from_min = _time(_("The rest begins between"), required=False)
    rest_till_min = _time(_("and"), required=False)
    avoids = forms.MultipleChoiceField(
        label=_("Does not go to"), required=False, widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    is_active = forms.BooleanField(label=_("Carries at present"), required=False, initial=True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = list(Place.objects.of(self.group).order_by("name"))
        self.offer("start", places)
        self.offer("end", places, empty=True)
        self.places = {each.code: each for each in places}
        self.fields["avoids"].choices = [(each.code, each.name) for each in places]  # type: ignore[attr-defined]

    @staticmethod
    def start_of(carrier: Carrier) -> dict[str, Any]:
        """Values of a stored carrier."""
        times = ("from_min", "till_min", "rest_from_min", "rest_till_min")
        return {
            "moving": carrier.moving,
            "load_limit_g": carrier.load_limit_g,
            "start": carrier.start.code,
            "end": "" if carrier.end_id == carrier.start_id else carrier.end.code,
            "rest_min": carrier.rest_min,
            "avoids": list(carrier.avoided.values_list("place__code", flat=True)),
            "is_active": carrier.is_active,
            **{name: wall_clock(getattr(carrier, name)) for name in times},
        }

    def clean(self) -> dict[str, Any]:
        """A rest needs its length and both times."""
        cleaned = super().clean() or self.cleaned_data
        parts = [cleaned.get(n) for n in ("rest_min", "rest_from_min", "rest_till_min")]
        if any(each is not None for each in parts) and not all(each is not None for each in parts):
            self.add_error("rest_min", gettext("Give the length of the rest and both times."))
        return cleaned

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation."""
        cleaned = self.cleaned_data
        rest = None
        if cleaned["rest_min"]:
            rest = RestWish(
                minutes(cleaned["rest_from_min"]) or 0,
                minutes(cleaned["rest_till_min"]) or 0,
                cleaned["rest_min"],
            )
        return {
            "moving": cleaned["moving"],
            "load_limit_g": cleaned["load_limit_g"],
            "start": self.row("start"),
            "end": self.row("end"),
            "from_min": minutes(cleaned["from_min"]),
            "till_min": minutes(cleaned["till_min"]),
            "rest": rest,
            "avoids": [self.places[code] for code in cleaned["avoids"]],
            "is_active": cleaned["is_active"],
        }
