"""What the API says of a round: its stops, figures, cautions and what was left out."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from apps.api.sentences import SentenceField
from apps.kernel.sentences import Sentence
from apps.rounds.models import Round, RoundState, RoundStop, StopSide, StopState


class RoundStopAnswer(serializers.ModelSerializer[RoundStop]):
    """One end of one pickup; seconds count from local midnight. `locked_s`: the time promised."""

    pickup = serializers.UUIDField(source="pickup.uuid")
    source = serializers.CharField(source="pickup.source.code")
    digester = serializers.CharField(source="pickup.digester.code")
    side = serializers.ChoiceField(choices=StopSide.choices)
    state = serializers.ChoiceField(choices=StopState.choices)

    class Meta:
        model = RoundStop
        fields = (
            "uuid",
            "pickup",
            "source",
            "digester",
            "side",
            "number",
            "short_code",
            "arrive_s",
            "begin_s",
            "leave_s",
            "load_g",
            "locked_s",
            "state",
            "reason",
            "happened_at",
        )


class RoundLeftAnswer(serializers.Serializer[Any]):
    """A pickup left out, and why."""

    pickup = serializers.UUIDField()
    why = serializers.CharField()
    sentence = SentenceField()


class OwnAnswer(serializers.Serializer[Any]):
    """Everybody fetching their own, for comparison."""

    people = serializers.IntegerField()
    seconds = serializers.IntegerField()
    metres = serializers.IntegerField()
    gram_metres = serializers.IntegerField()


class RoundFiguresAnswer(serializers.Serializer[Any]):
    """The whole tour. `gram_metres`: load times way; `lifted_g` against `day_limit_g`, the
    published most for this much time (ISO 11228-1)."""

    depart_s = serializers.IntegerField()
    back_s = serializers.IntegerField()
    seconds = serializers.IntegerField()
    metres = serializers.IntegerField()
    gram_metres = serializers.IntegerField()
    lifts = serializers.IntegerField()
    heaviest_g = serializers.IntegerField()
    lifted_g = serializers.IntegerField()
    day_limit_g = serializers.IntegerField()
    heaviest_load_g = serializers.IntegerField()
    own = OwnAnswer()
    attribution = serializers.CharField(allow_blank=True)


class RoundSummary(serializers.ModelSerializer[Round]):
    """A round without its stops."""

    carrier = serializers.CharField(source="carrier.member.code")
    state = serializers.ChoiceField(choices=RoundState.choices)
    built_by = serializers.CharField(source="built_by.code", default=None, allow_null=True)

    class Meta:
        model = Round
        fields: tuple[str, ...] = (
            "uuid",
            "carrier",
            "on",
            "state",
            "version",
            "from_min",
            "till_min",
            "built_at",
            "built_by",
            "announced_at",
        )


class RoundAnswer(RoundSummary):
    """A round with its stops in order, its figures, its cautions and what was left out."""

    figures = serializers.SerializerMethodField()
    stops = RoundStopAnswer(many=True)
    cautions = serializers.SerializerMethodField()
    left = serializers.SerializerMethodField()

    class Meta(RoundSummary.Meta):
        fields = (*RoundSummary.Meta.fields, "figures", "stops", "cautions", "left")

    def get_figures(self, found: Round) -> RoundFiguresAnswer(allow_null=True):  # type: ignore[valid-type]
        """None when nothing could be done."""
        return RoundFiguresAnswer(found.figures).data if found.figures else None

    def get_cautions(self, found: Round) -> serializers.ListField(child=SentenceField()):  # type: ignore[valid-type]
        """About lifting."""
        return [
            SentenceField().to_representation(Sentence(each["template"], each["values"]))
            for each in found.figures.get("cautions", ())
        ]

    def get_left(self, found: Round) -> RoundLeftAnswer(many=True):  # type: ignore[valid-type]
        """Each with its reason."""
        rows = [
            {
                "pickup": each["pickup"],
                "why": each["why"],
                "sentence": Sentence(each["template"], each["values"]),
            }
            for each in found.left
        ]
        return RoundLeftAnswer(rows, many=True).data
