"""What a source has on a day, and what it weighed itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.supply.models import Stream
from apps.web.forms.amounts import KilogramsField
from apps.web.templatetags.shown import say

SHARES_PERCENT = (25, 50, 150, 200)
"""Parts of a stream's usual amount offered as chips. Ours; anything else is typed."""

ROUND_G = 500
"""Chips are round figures."""


def amount_chips(stream: Stream) -> list[int]:
    """Grams around the stream's usual amount, rising."""
    usual_g = max(stream.weekday_g)
    found = {
        max(ROUND_G, round(usual_g * share / 100 / ROUND_G) * ROUND_G) for share in SHARES_PERCENT
    }
    return sorted(found)


class OfferForm(forms.Form):
    """A field for each stream."""

    def __init__(
        self,
        *args: Any,
        streams: Sequence[Stream],
        amounts_g: Mapping[int, int],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.streams = list(streams)
        for stream in self.streams:
            self.fields[stream.code] = KilogramsField(
                label=f"{say(stream.material.name)}, kg",
                initial=amounts_g.get(stream.pk, 0),
                least=0,
            )

    def amounts_g(self) -> dict[Stream, int]:
        """Grams by stream."""
        return {stream: self.cleaned_data[stream.code] for stream in self.streams}


class WeightForm(forms.Form):
    """What the giver's own scale said."""

    pickup_uuid: UUID | None = None
    amount = KilogramsField(label=_("Your own weight, in kg"))
