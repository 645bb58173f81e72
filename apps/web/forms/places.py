"""Places, sources and their streams, destinations and digesters, typed one at a time."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import DigesterKind, StageName
from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.people.models import Member
from apps.places.models import Place, Weekday
from apps.places.operations.save_place import Window
from apps.supply.models import SourceKind, Stream
from apps.web.forms.amounts import KilogramsField, KilopascalsField, LitresField

CODE_HELP = _("Small letters, digits and hyphens; sheets use it.")
HOURS = re.compile(
    r"([01]?\d|2[0-4])[:.]([0-5]\d)\s*[-–]\s*([01]?\d|2[0-4])[:.]([0-5]\d)", re.ASCII
)


class HoursField(forms.CharField):
    """Stretches of one weekday such as "8:00-12:00, 16:00-20:00"; empty for shut."""

    def to_python(self, value: Any) -> Any:
        """Pairs of minutes after midnight."""
        text = super().to_python(value)
        found = []
        for part in filter(None, (part.strip() for part in text.split(","))):
            match = HOURS.fullmatch(part)
            if match is None:
                raise ValidationError(
                    gettext("“%(part)s” are not hours. Write like 8:00-12:00.")
                    % {"part": part[:30]}
                )
            numbers = [int(each) for each in match.groups()]
            opens, closes = numbers[0] * 60 + numbers[1], numbers[2] * 60 + numbers[3]
            if not opens < closes <= 1440:
                raise ValidationError(
                    gettext("“%(part)s” ends before it begins.") % {"part": part[:30]}
                )
            found.append((opens, closes))
        return found

    def prepare_value(self, value: Any) -> Any:
        """As people type it."""
        if isinstance(value, list):
            return ", ".join(f"{a // 60}:{a % 60:02d}-{b // 60}:{b % 60:02d}" for a, b in value)
        return value


class PlaceForm(forms.Form):
    """Where it is, how to get in, when it is open."""

    code = forms.SlugField(label=_("Short name"), max_length=40, help_text=CODE_HELP)
    name = forms.CharField(label=_("Name"), max_length=120)
    area = forms.CharField(
        label=_("Area that everybody may see"), max_length=80, required=False,
        help_text=_("A quarter or a crossing, not the house."),
    )  # fmt: skip
    street = forms.CharField(
        label=_("Street and number"), max_length=200, required=False,
        help_text=_("Shown only to whoever comes, from a day before to a day after."),
    )  # fmt: skip
    access_note = forms.CharField(
        label=_("How to get in"), max_length=200, required=False,
        help_text=_("Which door, which bell, where the pail stands."),
    )  # fmt: skip
    latitude = forms.DecimalField(
        label=_("Latitude"),
        min_value=-90,
        max_value=90,
        decimal_places=6,
        max_digits=9,
        localize=True,
    )
    longitude = forms.DecimalField(
        label=_("Longitude"), min_value=-180, max_value=180, decimal_places=6, max_digits=9,
        localize=True,
    )  # fmt: skip
    is_public = forms.BooleanField(
        label=_("A public stall or shop: everybody may see the address"), required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, label in Weekday.choices:
            self.fields[f"hours_{number}"] = HoursField(
                label=_("Hours on %(day)s") % {"day": label}, required=False, max_length=100
            )

    @staticmethod
    def start(place: Place) -> dict[str, Any]:
        """Values of a stored place."""
        values: dict[str, Any] = {name: getattr(place, name) for name in PlaceForm.base_fields}
        for row in place.opening_hours.all():
            values.setdefault(f"hours_{row.weekday}", []).append((row.opens_min, row.closes_min))
        return values

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation. No hours at all: open at any time."""
        cleaned = dict(self.cleaned_data)
        hours = [
            Window(number, opens, closes)
            for number, _label in Weekday.choices
            for opens, closes in cleaned.pop(f"hours_{number}")
        ]
        return {**cleaned, "hours": hours}


class OfGroup(forms.Form):
    """A form that offers a group's own rows, by code."""

    def __init__(self, *args: Any, group: Group, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.group = group

    def offer(self, name: str, rows: Any, *, empty: bool = False) -> None:
        """Fill a choice with rows; the row itself is the cleaned value."""
        self.rows = getattr(self, "rows", {})
        self.rows[name] = {row.code: row for row in rows}
        choices = [("", "–")] if empty else []
        choices += [(code, getattr(row, "name", code)) for code, row in self.rows[name].items()]
        self.fields[name].choices = choices

    def row(self, name: str) -> Any:
        """The row chosen, or None."""
        return self.rows[name].get(self.cleaned_data[name])


class SourceForm(OfGroup):
    """Who gives waste."""

    code = forms.SlugField(label=_("Short name"), max_length=40, help_text=CODE_HELP)
    name = forms.CharField(label=_("Name"), max_length=120)
    kind = forms.ChoiceField(label=_("Kind"), choices=SourceKind.choices)
    place = forms.ChoiceField(label=_("Place"))
    contact = forms.ChoiceField(label=_("Contact"), required=False)
    max_homes_per_day = forms.IntegerField(
        label=_("Homes that may come on one day"), min_value=1, max_value=20, initial=2
    )
    is_active = forms.BooleanField(label=_("Takes part"), required=False, initial=True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer("place", Place.objects.of(self.group).order_by("name"))
        self.offer(
            "contact",
            Member.objects.of(self.group).filter(left_at=None).order_by("name"),
            empty=True,
        )

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation."""
        return {**self.cleaned_data, "place": self.row("place"), "contact": self.row("contact")}


WEEKDAY_FIELDS = (
    "monday_g", "tuesday_g", "wednesday_g", "thursday_g", "friday_g", "saturday_g", "sunday_g",
)  # fmt: skip


class StreamForm(OfGroup):
    """One material a source regularly has."""

    code = forms.SlugField(label=_("Short name"), max_length=40, help_text=CODE_HELP)
    material = forms.ChoiceField(label=_("Material"))
    monday_g = KilogramsField(label=_("Monday, kg"), required=False, least=0)
    tuesday_g = KilogramsField(label=_("Tuesday, kg"), required=False, least=0)
    wednesday_g = KilogramsField(label=_("Wednesday, kg"), required=False, least=0)
    thursday_g = KilogramsField(label=_("Thursday, kg"), required=False, least=0)
    friday_g = KilogramsField(label=_("Friday, kg"), required=False, least=0)
    saturday_g = KilogramsField(label=_("Saturday, kg"), required=False, least=0)
    sunday_g = KilogramsField(label=_("Sunday, kg"), required=False, least=0)
    spread_percent = forms.IntegerField(
        label=_("How much it varies, in %"), min_value=0, max_value=200, initial=30
    )
    kept_days = forms.IntegerField(
        label=_("Days the source keeps it"), min_value=0, max_value=14, initial=0,
        help_text=_("0: only on the day it arises."),
    )  # fmt: skip
    feed_within_days = forms.IntegerField(
        label=_("Days until it must be fed"), min_value=0, max_value=30, required=False,
        help_text=_("Empty: by material and season."),
    )  # fmt: skip
    is_divisible = forms.BooleanField(
        label=_("May be split between homes"), required=False, initial=True
    )
    is_active = forms.BooleanField(label=_("Still there"), required=False, initial=True)
    learnt_since_on = forms.DateField(
        label=_("Changed hands or goods on"), required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text=_("What it had before that day is forgotten. Empty: nothing changed."),
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer(
            "material", Material.objects.of(self.group).filter(is_active=True).order_by("name")
        )

    @staticmethod
    def start(stream: Stream) -> dict[str, Any]:
        """Values of a stored stream."""
        values = {name: getattr(stream, name) for name in StreamForm.base_fields}
        return {**values, "material": stream.material.code}

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation."""
        cleaned = dict(self.cleaned_data)
        weekday_g = tuple(cleaned.pop(name) or 0 for name in WEEKDAY_FIELDS)
        return {**cleaned, "weekday_g": weekday_g, "material": self.row("material")}


class DestinationForm(OfGroup):
    """Where left-overs go."""

    code = forms.SlugField(label=_("Short name"), max_length=40, help_text=CODE_HELP)
    name = forms.CharField(label=_("Name"), max_length=120)
    place = forms.ChoiceField(label=_("Place"))
    capacity_g_per_day = KilogramsField(label=_("It takes at most, kg a day"))
    is_active = forms.BooleanField(label=_("In use"), required=False, initial=True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer("place", Place.objects.of(self.group).order_by("name"))

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation."""
        return {**self.cleaned_data, "place": self.row("place")}


class DigesterForm(OfGroup):
    """What is on the plate and at the home."""

    code = forms.SlugField(label=_("Short name"), max_length=40, help_text=CODE_HELP)
    name = forms.CharField(label=_("Name"), max_length=120)
    place = forms.ChoiceField(label=_("Place"))
    household = forms.ChoiceField(label=_("Household"), required=False)
    kind = forms.ChoiceField(label=_("Kind"), choices=DigesterKind.choices)
    working_volume_ml = LitresField(
        label=_("Working volume, in L"), help_text=_("Slurry it holds, without the gas room.")
    )
    rated_feed_g = KilogramsField(
        label=_("Rated for waste, kg a day"), least=0,
        help_text=_("From its plate or its builder. 0: not known, then it gets no waste."),
    )  # fmt: skip
    rated_slurry_ml = LitresField(label=_("Rated for waste and water, L a day"), least=0)
    gas_holder_ml = LitresField(label=_("Gas it can store, in L"), least=0)
    drum_diameter_mm = forms.IntegerField(
        label=_("Floating drum: how wide, in mm"), required=False, min_value=100, max_value=10_000,
        help_text=_("With the next two, gas is known from the drum's height."),
    )  # fmt: skip
    drum_stop_mm = forms.IntegerField(
        label=_("Floating drum: how high it can rise above empty, in mm"),
        required=False, min_value=10, max_value=10_000,
    )  # fmt: skip
    drum_mass_g = KilogramsField(label=_("Floating drum: its weight, in kg"), required=False)
    full_pressure_pa = KilopascalsField(
        label=_("Fixed dome: pressure at which gas escapes, in kPa"), required=False,
        help_text=_("With it, gas is known from the pressure gauge; without it, from quarters."),
    )  # fmt: skip
    burner_ml_per_h = LitresField(label=_("Gas its burner takes, L an hour"))
    wanted_minutes_per_day = forms.IntegerField(
        label=_("Cooking wished for, minutes a day"), min_value=0, max_value=1440, initial=120
    )
    bin_g = KilogramsField(label=_("Its bin holds, kg"))
    min_pickup_g = KilogramsField(label=_("Smallest load worth a walk, kg"))
    max_visits_per_day = forms.IntegerField(
        label=_("Walks on one day at most"), min_value=1, max_value=20, initial=3
    )
    stage = forms.ChoiceField(label=_("Stage"), choices=StageName.choices)
    stage_since_on = forms.DateField(
        label=_("In this stage since"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer("place", Place.objects.of(self.group).order_by("name"))
        self.offer(
            "household",
            Member.objects.of(self.group).filter(left_at=None).order_by("name"),
            empty=True,
        )

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation."""
        return {
            **self.cleaned_data,
            "place": self.row("place"),
            "household": self.row("household"),
        }
