"""A place whose position may be looked up, pinned on the map, or typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.places.core.distance import Point
from apps.places.core.location_code import find_code
from apps.web.forms.places import PlaceForm


class PinnedPlaceForm(PlaceForm):
    """Without coordinates the position is the Open Location Code in `where`."""

    where = forms.CharField(
        label=_("Find it by address"),
        max_length=200,
        required=False,
        help_text=_(
            "A street and number, an Open Location Code such as 8FVC2222+22, or latitude and "
            "longitude."
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("latitude", "longitude"):
            self.fields[name].required = False

    @staticmethod
    def typed(data: Mapping[str, Any]) -> dict[str, Any]:
        """What stands in a form that was sent to look something up, to be shown again."""
        return {"where": "", "street": "", **data}

    def point(self) -> Point | None:
        """Where the pin stands: as checked, or as it was at the start."""
        source = getattr(self, "cleaned_data", None) or self.initial
        latitude, longitude = source.get("latitude"), source.get("longitude")
        try:
            return Point(float(latitude), float(longitude))  # type: ignore[arg-type]
        except (TypeError, ValueError):
            return None

    def hours(self) -> list[forms.BoundField]:
        """The fields of the seven days."""
        return [bound for bound in self if bound.name.startswith("hours_")]

    def clean(self) -> dict[str, Any]:
        """Both coordinates, or a code; an address must be found first."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        lacking = [
            name
            for name in ("latitude", "longitude")
            if name not in self.errors and cleaned.get(name) is None
        ]
        if lacking and cleaned.get("where") and find_code(cleaned["where"]):
            cleaned["location_code"] = cleaned["where"]
            cleaned["latitude"] = cleaned["longitude"] = None
        elif lacking and cleaned.get("where"):
            self.add_error("where", gettext("Press “Find it” first, then look at the pin."))
        else:
            for name in lacking:
                self.add_error(name, self.fields[name].error_messages["required"])
        return cleaned

    def arguments(self) -> dict[str, Any]:
        """What to hand to the operation."""
        arguments = super().arguments()
        arguments.pop("where")
        return arguments
