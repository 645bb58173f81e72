"""A digester as its household sees it: what went in, gas, what still fits, and the week."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import DIGESTER_READERS, digesters_for
from apps.api.lookup import by_code
from apps.api.operation import operation
from apps.api.resources.digesters import BoardDayAnswer, BoardWarningAnswer, LimitAnswer
from apps.api.resources.feedings import PortionAnswer
from apps.api.resources.pickups import PickupAnswer
from apps.api.sentences import SentenceField
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import StageName
from apps.people.access import Access
from apps.pickups.queries.digester_picture import DigesterPicture, digester_picture


class GasAnswer(serializers.Serializer[Any]):
    """By the last look at the holder. `standard_l` is dry gas at 0 °C and 101.325 kPa;
    `energy_mj` its lower heating value at 60 % methane; meals are one person's; `at_least`: the
    holder was full, and what escaped was not seen."""

    read_at = serializers.DateTimeField()
    height_share = serializers.FloatField(help_text="0 to 1.")
    wet_l = serializers.FloatField(source="picture.wet_l")
    standard_l = serializers.FloatField(source="picture.standard_l")
    energy_mj = serializers.FloatField(source="picture.energy_mj")
    minutes = serializers.IntegerField(source="picture.minutes")
    meals_low = serializers.IntegerField(source="picture.meals_low")
    meals_high = serializers.IntegerField(source="picture.meals_high")
    at_least = serializers.BooleanField(source="picture.at_least")


class FedDayAnswer(serializers.Serializer[Any]):
    """What went in on one day."""

    on = serializers.DateField()
    portions = PortionAnswer(many=True)
    water_ml = serializers.IntegerField()


class ComingDayAnswer(serializers.Serializer[Any]):
    """Who brings something on one day."""

    on = serializers.DateField()
    pickups = PickupAnswer(many=True)


class PictureAnswer(serializers.Serializer[Any]):
    """`spare_g` of usual market waste still fit today, and `binding` says why not more. `gas` is
    null until somebody has read the holder; `not_to_light` says why nothing may be lit."""

    digester = serializers.CharField()
    on = serializers.DateField()
    fed = FedDayAnswer(many=True, help_text="Seven days up to today.")
    in_bin = PortionAnswer(many=True)
    headroom_g = serializers.IntegerField()
    spare_g = serializers.IntegerField()
    binding = LimitAnswer()
    gas = GasAnswer(allow_null=True)
    not_to_light = SentenceField(allow_null=True)
    days = BoardDayAnswer(many=True, help_text="14 days back, 7 ahead.")
    coming = ComingDayAnswer(many=True, help_text="Seven days from today.")
    warnings = BoardWarningAnswer(many=True)


class PictureView(ApiView):
    """One digester's picture."""

    access = Access({"GET": DIGESTER_READERS})

    @operation(
        "show_picture",
        "A digester's picture: what went in, gas, spare capacity and its week",
        answer=PictureAnswer,
    )
    def get(self, request: ApiRequest, group: str, digester: str) -> Any:
        """A constant number of queries."""
        row = by_code(digesters_for(request.admission).select_related("group"), digester)
        if row.stage == StageName.CLOSED:
            raise Http404(_("“%(code)s” is closed.") % {"code": row.code})
        return _answer(digester_picture(row, now=request.now))


def _answer(seen: DigesterPicture) -> dict[str, Any]:
    for pickup in (each for day in seen.pickups.values() for each in day):
        pickup.digester = seen.digester
    return {
        "digester": seen.digester.code,
        "on": seen.on,
        "fed": [
            {"on": day.on, "portions": _portions(day.fed_g), "water_ml": day.water_ml}
            for day in seen.fed
        ],
        "in_bin": _portions(seen.in_bin_g),
        "headroom_g": seen.board.headroom_g,
        "spare_g": seen.spare_g,
        "binding": seen.binding,
        "gas": seen.gas,
        "not_to_light": seen.not_to_light,
        "days": seen.board.days,
        "coming": [{"on": on, "pickups": day} for on, day in seen.pickups.items()],
        "warnings": seen.board.warnings,
    }


def _portions(amounts_g: Any) -> list[dict[str, Any]]:
    return [
        {"material": code, "amount_g": amount_g}
        for code, amount_g in sorted(amounts_g.items())
        if amount_g
    ]


addresses = [
    path("digesters/<slug:digester>/picture", PictureView.as_view(), name="api-picture"),
]
