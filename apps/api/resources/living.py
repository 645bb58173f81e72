"""The living digester: what the process model believes, promises and warns of."""

from __future__ import annotations

from typing import Any

from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import DIGESTER_READERS, PLANNERS, digesters_for
from apps.api.fields import Day, Whole
from apps.api.lookup import by_code
from apps.api.operation import operation
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester, RaisedWarning
from apps.digesters.queries.model_view import model_view
from apps.digesters.queries.try_feed import MOST_WHAT_IF_DAYS, try_feed
from apps.kernel.errors import Conflict
from apps.kernel.sentences import Sentence
from apps.people.access import Access

MOST_VS_G = 1_000_000


class NoModel(Conflict):
    """Nothing is known yet to try a feed on."""

    code = "no_model"


class BandAnswer(serializers.Serializer[Any]):
    """A middle figure with the 80 % band around it."""

    low = serializers.FloatField()
    middle = serializers.FloatField()
    high = serializers.FloatField()


class PromiseAnswer(serializers.Serializer[Any]):
    """Minutes of one burner this evening; `is_read`: the holder was read lately."""

    minutes = serializers.IntegerField()
    low = serializers.IntegerField()
    high = serializers.IntegerField()
    is_read = serializers.BooleanField()


class TomorrowAnswer(serializers.Serializer[Any]):
    """Most grams of its usual mix tomorrow, grams a day lately, and why."""

    on = Day()
    feed_g = serializers.IntegerField()
    usual_g = serializers.IntegerField()
    rule_id = serializers.CharField(source="binding.rule_id")
    source = serializers.CharField(source="binding.source")
    sentence = SentenceField()
    reason = SentenceField()
    own_g = serializers.IntegerField(help_text="Of it own kitchen waste, which goes first.")
    own_foreseen_g = serializers.IntegerField(help_text="All that is foreseen of it.")
    own_days = serializers.IntegerField(help_text="Days it is foreseen from; 0: as said.")


class FiguresAnswer(serializers.Serializer[Any]):
    """What is inside."""

    ph = BandAnswer()
    acids_g_per_l = BandAnswer()
    ammonia_nitrogen_g_per_l = BandAnswer()
    feed_strength = BandAnswer()
    activity = BandAnswer()


class InsideAnswer(serializers.Serializer[Any]):
    """The model's belief; `activity` is low, usual, high or unknown."""

    figures = FiguresAnswer()
    activity = serializers.CharField()
    souring_probability = serializers.FloatField()
    souring_in_days = serializers.IntegerField(allow_null=True)
    strip_apart = serializers.FloatField(
        allow_null=True, help_text="The last strip where it is far from the belief: it counts."
    )


class WarningAnswer(serializers.ModelSerializer[RaisedWarning]):
    """A warning that stands."""

    digester = serializers.CharField(source="digester.code")
    evidence = serializers.SerializerMethodField()
    advice = serializers.SerializerMethodField()

    class Meta:
        model = RaisedWarning
        fields = (
            "uuid",
            "digester",
            "kind",
            "raised_on",
            "within_days",
            "certainty",
            "evidence",
            "advice",
            "cautions",
        )

    def get_evidence(self, row: RaisedWarning) -> str:
        """What was seen."""
        sentence = Sentence(row.evidence["template"], row.evidence["values"])
        return _(sentence.template) % dict(sentence.values)

    def get_advice(self, row: RaisedWarning) -> str:
        """What to do."""
        return _(row.advice) % ()


class CameAnswer(serializers.Serializer[Any]):
    """Gas foreseen between two looks and what came [dry standard L]."""

    on = Day()
    foreseen_l = BandAnswer()
    came_l = serializers.FloatField()
    at_least = serializers.BooleanField()


class SavedAnswer(serializers.Serializer[Any]):
    """One or the other, never their sum."""

    lpg_kg = serializers.FloatField()
    firewood_kg = serializers.FloatField()
    charcoal_kg = serializers.FloatField()


class UseAnswer(serializers.Serializer[Any]):
    """What the gas was used for; flared and vented gas cooked nothing."""

    days = serializers.IntegerField()
    cooked_min = serializers.IntegerField()
    cooked_l = serializers.FloatField()
    saved = SavedAnswer()
    flared_min = serializers.IntegerField()
    vented_l = serializers.IntegerField()


class LivingAnswer(serializers.Serializer[Any]):
    """Everything about one living digester; null where it is not followed yet."""

    digester = serializers.CharField(source="digester.code")
    state_on = Day(allow_null=True)
    not_to_light = SentenceField(allow_null=True)
    promise = PromiseAnswer(allow_null=True)
    inside = InsideAnswer(allow_null=True)
    tomorrow = TomorrowAnswer()
    warnings = WarningAnswer(many=True)
    history = CameAnswer(many=True)
    use = UseAnswer()


class WhatIfQuery(Strict):
    """Grams of volatile solids a day of its usual mix, and for how many days."""

    vs_g_per_day = Whole(min_value=0, max_value=MOST_VS_G)
    days = Whole(min_value=1, max_value=MOST_WHAT_IF_DAYS, default=7)


class FutureAnswer(serializers.Serializer[Any]):
    """One course of the days ahead; gas in dry standard m3."""

    gas_m3 = BandAnswer()
    ph_lowest = BandAnswer()
    souring_probability = serializers.FloatField()


class WhatIfAnswer(serializers.Serializer[Any]):
    """The course tried and the one planned."""

    tried = FutureAnswer()
    planned = FutureAnswer()


def _digester(request: ApiRequest, code: str) -> Digester:
    row: Digester = by_code(digesters_for(request.admission).select_related("group", "place"), code)
    return row


class LivingView(ApiView):
    """One living digester."""

    access = Access({"GET": DIGESTER_READERS})

    @operation(
        "show_living_digester",
        "Gas this evening, tomorrow's feeding, warnings and what is inside",
        answer=LivingAnswer,
        description="The model may only lower a feed. Follow local codes; have gas work done by a "
        "licensed person.",
    )
    def get(self, request: ApiRequest, group: str, digester: str) -> Any:
        """Householders their own."""
        return model_view(_digester(request, digester), request.now)


class WhatIfView(ApiView):
    """Trying another feed; nothing is written."""

    access = Access({"GET": DIGESTER_READERS})

    @operation(
        "try_feed",
        "What if a digester were fed differently for a while",
        query=WhatIfQuery,
        answer=WhatIfAnswer,
        description="A try is no permission: every limit of the day still holds.",
    )
    def get(self, request: ApiRequest, group: str, digester: str, query: dict[str, Any]) -> Any:
        """Beside the plan."""
        futures = try_feed(
            _digester(request, digester),
            request.now,
            vs_kg_per_day=query["vs_g_per_day"] / 1000,
            days=query["days"],
        )
        if futures is None:
            raise NoModel(
                _("“%(code)s” is not followed by the model yet. Try again tomorrow.")
                % {"code": digester}
            )
        return {"tried": futures[0], "planned": futures[1]}


class WarningsView(ApiView):
    """Every warning that stands, the soonest and surest first."""

    access = Access({"GET": PLANNERS})

    @operation(
        "list_warnings",
        "Warnings that stand, soonest and surest first",
        answer=WarningAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str) -> Any:
        """Of all digesters."""
        return (
            RaisedWarning.objects.of(request.group)
            .filter(cleared_on=None)
            .select_related("digester")
        )


addresses = [
    path("warnings", WarningsView.as_view(), name="api-warnings"),
    path("digesters/<slug:digester>/living", LivingView.as_view(), name="api-living"),
    path("digesters/<slug:digester>/what-if", WhatIfView.as_view(), name="api-what-if"),
]
