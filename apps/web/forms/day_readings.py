"""What was read at a digester."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import get_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester, ReadingKind
from apps.digesters.queries.gas_now import holder_reading
from apps.kernel.quantities import UnreadableAmount, parse_thousandths
from apps.web.forms.amounts import KilopascalsField
from apps.web.templatetags.shown import number, say

PH_STRIPS = (500, 550, 600, 650, 700, 750, 800)
"""Hundredths; the fields of a usual strip."""


RARE = ("checked", "slurry", "air_low", "air_high", "flared", "vented", "on")
"""Fields that stand last."""

FOLDED = ("slurry", "air_low", "air_high", "flared", "vented")
"""Fields that are folded away until somebody wants them."""

DEGREES = re.compile(r"(-?)(\d{1,2})(?:[.,](\d))?", re.ASCII)


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


class DegreesField(forms.Field):
    """Degrees Celsius, one decimal, to whole hundredths."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            required=False,
            widget=forms.TextInput(attrs={"class": "short", "inputmode": "text"}),
            **kwargs,
        )

    def to_python(self, value: Any) -> Any:
        """None for an empty field."""
        text = str(value or "").strip().replace("\N{MINUS SIGN}", "-")
        if not text:
            return None
        found = DEGREES.fullmatch(text)
        if found is None:
            raise ValidationError(
                gettext("“%(given)s” is no temperature. Write degrees like 24 or -3.")
                % {"given": text[:20]}
            )
        sign, whole, tenth = found.groups()
        return (-1 if sign else 1) * (int(whole) * 100 + int(tenth or 0) * 10)


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
        help_text=_("0 when nobody cooked; empty means that it is not known."),
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
    pressure = KilopascalsField(
        label=_("Gas pressure on the gauge, in kPa"), least=0, required=False,
        help_text=_("1 kPa is 10 cm of water or 10 mbar."),
    )  # fmt: skip
    flame = _taps(
        _("The flame"),
        [("2", _("steady and blue")), ("1", _("weak or yellow")), ("0", _("no flame"))],
    )
    ph = _taps(_("The pH strip"), [])
    slurry = DegreesField(label=_("Slurry temperature, °C"))
    air_low = DegreesField(label=_("Coldest air of the day, °C"))
    air_high = DegreesField(label=_("Warmest air of the day, °C"))
    smell = _taps(_("Does it smell sour?"), [("0", _("no")), ("1", _("yes"))])
    checked = _taps(
        _("Gas got less: did you look for a leak (soapy water), for cold and for a full holder?"),
        [("1", _("yes, it is none of them")), ("0", _("yes, one of them"))],
    )
    on = forms.DateField(
        label=_("Read on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, digester: Digester, on: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"on": on}, **kwargs)
        self.at_work = ""
        for name, kind in HOLDER_FIELDS.items():
            if kind != holder_reading(digester)[0]:
                del self.fields[name]
        self.order_fields([*(name for name in self.fields if name not in RARE), *RARE])
        self.fields["ph"].choices = [  # type: ignore[attr-defined]
            ("", _("not looked at")),
            *((str(each), number(each / 100, 1)) for each in PH_STRIPS),
        ]

    def shown_fields(self) -> list[forms.BoundField]:
        """What is asked of everybody, but for the day, which stands last."""
        return [self[name] for name in self.fields if name not in (*FOLDED, "on")]

    def folded_fields(self) -> list[forms.BoundField]:
        """What is asked of those who have it."""
        return [self[name] for name in self.fields if name in FOLDED]

    def opens_fold(self) -> bool:
        """Whether something folded away was filled in or is wrong."""
        return any(each.errors or each.data for each in self.folded_fields())

    def clean(self) -> dict[str, Any]:
        """At least one."""
        cleaned = super().clean() or {}
        low, high = cleaned.get("air_low"), cleaned.get("air_high")
        if low is not None and high is not None and low > high:
            self.add_error(
                "air_low", gettext("The warmest is colder than the coldest. Look again.")
            )
        if not self.errors and not list(self.values()):
            self.add_error(None, gettext("Nothing is filled in. Give at least one reading."))
        return cleaned

    def values(self) -> Iterator[tuple[str, ReadingKind, int]]:
        """Field, kind and whole number of what was filled in."""
        for name, kind in KINDS.items():
            value = self.cleaned_data.get(name)
            if value not in (None, ""):
                yield name, kind, int(value)


HOLDER_FIELDS = {
    "drum": ReadingKind.DRUM_HEIGHT,
    "pressure": ReadingKind.PRESSURE,
    "fullness": ReadingKind.FULLNESS,
}
"""Only the one that the holder is read by is asked for."""

KINDS = {
    **HOLDER_FIELDS,
    "burner": ReadingKind.BURNER,
    "flared": ReadingKind.FLARED,
    "vented": ReadingKind.VENTED,
    "flame": ReadingKind.FLAME,
    "ph": ReadingKind.PH,
    "smell": ReadingKind.SOUR_SMELL,
    "checked": ReadingKind.GAS_CHECKED,
    "slurry": ReadingKind.SLURRY_TEMPERATURE,
    "air_low": ReadingKind.AIR_TEMPERATURE,
    "air_high": ReadingKind.AIR_TEMPERATURE,
}
