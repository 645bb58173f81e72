"""What a group chooses for itself."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.formats import get_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.web.forms.people import zone_choices


class TemperaturesField(forms.CharField):
    """Twelve numbers with spaces between, in the reader's locale."""

    def to_python(self, value: Any) -> Any:
        """A list of floats; empty for none."""
        text = super().to_python(value)
        mark = str(get_format("DECIMAL_SEPARATOR"))
        found = []
        for word in text.split():
            plain = word.replace("−", "-").replace(mark, ".")
            digits = plain.removeprefix("-").replace(".", "", 1)
            if not (digits.isascii() and digits.isdigit()):
                raise ValidationError(
                    gettext(
                        "“%(word)s” is not a temperature. "
                        "Write like 8%(mark)s5, with spaces between."
                    )
                    % {"word": word[:20], "mark": mark}
                )
            found.append(float(plain))
        return found

    def prepare_value(self, value: Any) -> Any:
        """As people type it."""
        if isinstance(value, list):
            mark = str(get_format("DECIMAL_SEPARATOR"))
            return " ".join(f"{each:g}".replace(".", mark) for each in value)
        return value


class SettingsForm(forms.Form):
    """Name, place and choices of a group."""

    name = forms.CharField(label=_("Name of the group"), max_length=120)
    time_zone = forms.ChoiceField(label=_("Time zone"), choices=zone_choices)
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)
    emergency_number = forms.CharField(
        label=_("Local emergency number"),
        max_length=20,
        help_text=_("Shown wherever somebody may smell gas."),
    )
    reach_m = forms.IntegerField(
        label=_("Longest walk, in metres"), min_value=50, max_value=20_000,
        help_text=_("A source farther away than this is not brought to a digester."),
    )  # fmt: skip
    detour = forms.DecimalField(
        label=_("Walk over straight line"), min_value=Decimal(1), max_value=Decimal(3),
        decimal_places=2, localize=True,
        help_text=_("How much longer a real walk is: 1.3 is usual in street grids."),
    )  # fmt: skip
    rota_limit_days = forms.IntegerField(
        label=_("No source waits longer than, in days"), min_value=2, max_value=60
    )
    air_normals_c = TemperaturesField(
        label=_("Monthly mean air temperatures, in °C"),
        required=False,
        max_length=200,
        help_text=_("Twelve numbers, January first, from your weather service."),
    )
    animal_waste_rule = forms.CharField(
        label=_("Local rule that allows cooked and animal waste"),
        required=False,
        max_length=200,
        help_text=_("Name the rule and who confirmed it. Empty: such waste stays out."),
    )

    @staticmethod
    def start(group: Group) -> dict[str, Any]:
        """The form's first values."""
        return {
            **{name: getattr(group, name) for name in SettingsForm.base_fields if name != "detour"},
            "detour": Decimal(group.detour_ppm) / 1_000_000,
        }

    def changes(self) -> dict[str, Any]:
        """What to hand to the operation."""
        cleaned = dict(self.cleaned_data)
        cleaned["detour_ppm"] = int(cleaned.pop("detour") * 1_000_000)
        return cleaned
