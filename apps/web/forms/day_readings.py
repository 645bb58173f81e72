"""What was read at a digester."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import get_format
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import DigesterKind, ReadingKind
from apps.kernel.quantities import UnreadableAmount, parse_thousandths
from apps.web.templatetags.shown import number, say

PH_STRIPS = (500, 550, 600, 650, 700, 750, 800)
"""Hundredths; the fields of a usual strip."""


RARE = ("flared", "vented", "on")
"""Fields that stand last."""


class CentimetresField(forms.Field):
    """Centimetres, one decimal, to whole millimetres."""

    def to_python(self, value: Any) -> Any:
        """None for an empty field."""
        text = str(value or "").strip()
        if not text:
            return None
        try:
            # Thousandths of a centimetre, so that the reader's decimal mark is understood.
            exact = parse_thousandths(
                text, unit="cm", decimal_mark=str(get_format("DECIMAL_SEPARATOR")), least=0
            )
        except UnreadableAmount as error:
            raise ValidationError(say(error)) from error
        return round(exact / 100)


def _taps(label: Any, choices: list[tuple[str, Any]]) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        required=False,
        choices=[("", _("not looked at")), *choices],
        widget=forms.RadioSelect,
        initial="",
    )


class ReadingsForm(forms.Form):
    """Every field may stay empty, but not all of them."""

    drum = CentimetresField(
        label=_("Drum height, in cm above empty"),
        required=False,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "decimal"}),
    )
    burner = forms.IntegerField(
        label=_("Minutes the burner ran today"),
        required=False,
        min_value=0,
        max_value=1440,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "numeric"}),
    )
    flared = forms.IntegerField(
        label=_("Minutes gas was burnt off without cooking"),
        required=False,
        min_value=0,
        max_value=1440,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "numeric"}),
    )
    vented = forms.IntegerField(
        label=_("Litres of gas let out unburnt, outdoors"),
        required=False,
        min_value=0,
        max_value=20_000,
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "numeric"}),
    )
    fullness = _taps(
        _("How full the gas holder is"),
        [("0", _("empty")), ("1", "¼"), ("2", "½"), ("3", "¾"), ("4", _("full"))],
    )
    flame = _taps(
        _("The flame"),
        [("2", _("steady and blue")), ("1", _("weak or yellow")), ("0", _("none"))],
    )
    ph = _taps(_("pH strip"), [])
    smell = _taps(_("Does it smell sour?"), [("0", _("no")), ("1", _("yes"))])
    on = forms.DateField(
        label=_("Read on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, kind: str, on: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"on": on}, **kwargs)
        self.at_work = ""
        is_drum = kind == DigesterKind.FLOATING_DRUM
        del self.fields["fullness" if is_drum else "drum"]
        self.order_fields([*(name for name in self.fields if name not in RARE), *RARE])
        self.fields["ph"].choices = [  # type: ignore[attr-defined]
            ("", _("not looked at")),
            *((str(each), number(each / 100, 1)) for each in PH_STRIPS),
        ]

    def clean(self) -> dict[str, Any]:
        """At least one."""
        cleaned = super().clean() or {}
        if not self.errors and not list(self.values()):
            self.add_error(None, _now("Nothing is filled in. Give at least one reading."))
        return cleaned

    def values(self) -> Iterator[tuple[str, ReadingKind, int]]:
        """Field, kind and whole number of what was filled in."""
        for name, kind in KINDS.items():
            value = self.cleaned_data.get(name)
            if value not in (None, ""):
                yield name, kind, int(value)


KINDS = {
    "drum": ReadingKind.DRUM_HEIGHT,
    "burner": ReadingKind.BURNER,
    "flared": ReadingKind.FLARED,
    "vented": ReadingKind.VENTED,
    "fullness": ReadingKind.FULLNESS,
    "flame": ReadingKind.FLAME,
    "ph": ReadingKind.PH,
    "smell": ReadingKind.SOUR_SMELL,
}
