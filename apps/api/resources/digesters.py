"""Digesters: what each may take, what was fed and is planned, and which rule binds."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.http import Http404
from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import (
    ADMINISTRATORS,
    DIGESTER_READERS,
    digesters_for,
)
from apps.api.fields import Code, Day, Named, Text, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester, DigesterKind, StageName
from apps.digesters.operations.add_digester import add_digester
from apps.digesters.queries.day_limits import day_limits
from apps.kernel.days import local_date
from apps.kernel.errors import Conflict
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.people.models import Member
from apps.places.models import Place
from apps.planning.queries.digester_board import digester_board

MOST_DAYS = 14


class CodeTaken(Conflict):
    """Another digester of the group has this code."""

    code = "code_taken"


class PlateAnswer(serializers.ModelSerializer[Digester]):
    """What is on the plate and at the home."""

    place = serializers.CharField(source="place.code")
    household = serializers.CharField(source="household.code", default=None, allow_null=True)
    kind = serializers.ChoiceField(choices=DigesterKind.choices)
    stage = serializers.ChoiceField(choices=StageName.choices)

    class Meta:
        model = Digester
        fields = (
            "uuid",
            "code",
            "name",
            "place",
            "household",
            "kind",
            "stage",
            "stage_since_on",
            "working_volume_ml",
            "rated_feed_g",
            "rated_slurry_ml",
            "solids_target_ppm",
            "gas_holder_ml",
            "drum_diameter_mm",
            "drum_stop_mm",
            "drum_mass_g",
            "full_pressure_pa",
            "burner_ml_per_h",
            "outflow_storage_ml",
            "bin_g",
            "wanted_minutes_per_day",
            "max_visits_per_day",
            "min_pickup_g",
            "accepts_animal_waste",
        )


class LimitAnswer(serializers.Serializer[Any]):
    """One limit of one day: at most `value` of `quantity`, why, and who says so."""

    rule_id = serializers.CharField()
    quantity = serializers.CharField(help_text="feed_g, vs_g or slurry_ml")
    value = serializers.IntegerField()
    sentence = SentenceField()
    source = serializers.CharField()
    evidence = serializers.CharField()


class BoardDayAnswer(serializers.Serializer[Any]):
    """Grams of volatile solids: fed in the past, planned from today on; null: not known."""

    on = serializers.DateField()
    vs_g = serializers.IntegerField(allow_null=True)
    max_vs_g = serializers.IntegerField(allow_null=True)
    target_vs_g = serializers.IntegerField(allow_null=True)
    is_planned = serializers.BooleanField()


class BoardWarningAnswer(serializers.Serializer[Any]):
    """Something to look at; `stops`: not fed until then."""

    sentence = SentenceField()
    stops = serializers.BooleanField()


class DigesterAnswer(serializers.Serializer[Any]):
    """A digester today. `headroom_g` and `spare_g` are grams of usual market waste that still
    fit; `binding` is the rule behind `spare_g`."""

    digester = PlateAnswer()
    max_feed_g = serializers.IntegerField(source="today.max_feed_g")
    max_vs_g = serializers.IntegerField(source="today.max_vs_g")
    max_slurry_ml = serializers.IntegerField(source="today.max_slurry_ml")
    target_vs_g = serializers.IntegerField(source="today.target_vs_g")
    min_vs_g = serializers.IntegerField(
        source="today.min_vs_g", help_text="The day's part of the seven-day minimum."
    )
    headroom_g = serializers.IntegerField()
    spare_g = serializers.IntegerField()
    binding = LimitAnswer()
    days = BoardDayAnswer(many=True, help_text="14 days back, 7 ahead.")
    warnings = BoardWarningAnswer(many=True)


class DayLimitsAnswer(serializers.Serializer[Any]):
    """Every limit of one day."""

    on = serializers.DateField()
    is_attended = serializers.BooleanField()
    max_feed_g = serializers.IntegerField(source="limits.max_feed_g")
    max_vs_g = serializers.IntegerField(source="limits.max_vs_g")
    max_slurry_ml = serializers.IntegerField(source="limits.max_slurry_ml")
    target_vs_g = serializers.IntegerField(source="limits.target_vs_g")
    min_vs_g = serializers.IntegerField(source="limits.min_vs_g")
    suspended = SentenceField(source="limits.suspended", allow_null=True)
    limits = LimitAnswer(many=True, source="limits.limits")
    own_g = serializers.IntegerField(
        source="own_load.feed_g", help_text="Own kitchen waste that fits; it goes first."
    )
    own_foreseen_g = serializers.IntegerField(help_text="All that is foreseen of it.")
    own_days = serializers.IntegerField(help_text="Days it is foreseen from; 0: as said.")


class NewDigester(Strict):
    """A digester to take into care. A plate of zero means: not stated, and no waste."""

    code = Code()
    name = Text(max_length=120)
    place = Named(Place)
    household = Named(Member, default=None, allow_null=True)
    kind = serializers.ChoiceField(choices=DigesterKind.choices)
    stage = serializers.ChoiceField(choices=StageName.choices, default=StageName.DRY)
    stage_since_on = Day()
    working_volume_ml = Whole(min_value=50_000, max_value=100_000_000)
    rated_feed_g = Whole(min_value=0, max_value=MAX_FACT)
    rated_slurry_ml = Whole(min_value=0, max_value=10 * MAX_FACT)
    solids_target_ppm = Whole(min_value=40_000, max_value=80_000, default=60_000)
    gas_holder_ml = Whole(min_value=0, max_value=100_000_000, default=0)
    drum_diameter_mm = Whole(min_value=100, max_value=10_000, default=None, allow_null=True)
    drum_stop_mm = Whole(min_value=10, max_value=10_000, default=None, allow_null=True)
    drum_mass_g = Whole(min_value=100, max_value=MAX_FACT, default=None, allow_null=True)
    full_pressure_pa = Whole(
        min_value=500,
        max_value=20_000,
        default=None,
        allow_null=True,
        help_text="Fixed dome: gauge pressure at which gas escapes; it is then read by pressure.",
    )
    burner_ml_per_h = Whole(min_value=0, max_value=10_000_000, default=300_000)
    outflow_storage_ml = Whole(min_value=0, max_value=100_000_000, default=None, allow_null=True)
    bin_g = Whole(min_value=0, max_value=MAX_FACT, default=20_000)
    wanted_minutes_per_day = Whole(min_value=0, max_value=1440, default=120)
    max_visits_per_day = Whole(min_value=1, max_value=20, default=3)
    min_pickup_g = Whole(min_value=0, max_value=MAX_FACT, default=500)
    accepts_animal_waste = YesNo(default=False)


class LimitsQuery(Strict):
    """Which days; today and the six after it by default."""

    first_on = Day(required=False)
    days = Whole(min_value=1, max_value=MOST_DAYS, default=7)


class DigestersQuery(Paging):
    """Which digesters."""

    stage = serializers.ChoiceField(choices=StageName.choices, required=False)


class DigestersView(ApiView):
    """All digesters but closed ones; a householder's own."""

    access = Access({"GET": DIGESTER_READERS, "POST": ADMINISTRATORS})

    @operation(
        "list_digesters",
        "Digesters today, those with warnings first",
        query=DigestersQuery,
        answer=DigesterAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """With feed range, headroom, spare capacity and the rule that binds."""
        wanted = digesters_for(request.admission)
        if "stage" in query:
            wanted = wanted.filter(stage=query["stage"])
        return digester_board(
            request.group, _today(request), codes=set(wanted.values_list("code", flat=True))
        )

    @operation(
        "add_digester",
        "Take a digester into care",
        body=NewDigester,
        answer=PlateAnswer,
        status=201,
        key=Key.OPTIONAL,
        description="Follow local codes; have gas work done by a licensed person.",
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """With its accounts in the ledger and its first stage."""
        if Digester.objects.of(request.group).filter(code=body["code"]).exists():
            raise CodeTaken(
                _("“%(code)s” is taken. Choose another code.") % {"code": body["code"]},
                field="code",
            )
        draft = Digester(group=request.group, **body)
        return add_digester(request.group, draft, now=request.now, recorded_by=request.member)


class DigesterView(ApiView):
    """One digester."""

    access = Access({"GET": DIGESTER_READERS})

    @operation("show_digester", "One digester today", answer=DigesterAnswer)
    def get(self, request: ApiRequest, group: str, digester: str) -> Any:
        """By code."""
        row = by_code(digesters_for(request.admission), digester)
        rows = digester_board(request.group, _today(request), codes={row.code})
        if not rows:
            raise Http404(_("“%(code)s” is closed.") % {"code": row.code})
        return rows[0]


class LimitsView(ApiView):
    """The limits of one digester."""

    access = Access({"GET": DIGESTER_READERS})

    @operation(
        "list_limits",
        "How much a digester may take on each day, and why",
        query=LimitsQuery,
        answer=DayLimitsAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, digester: str, query: dict[str, Any]) -> Any:
        """Every limit with its value, rule and source."""
        row = by_code(digesters_for(request.admission), digester)
        today = _today(request)
        limits = day_limits(request.group, query.get("first_on", today), query["days"], as_of=today)
        return limits[row.code].days


def _today(request: ApiRequest) -> date:
    return local_date(request.now, request.group.time_zone)


addresses = [
    path("digesters", DigestersView.as_view(), name="api-digesters"),
    path("digesters/<slug:digester>", DigesterView.as_view(), name="api-digester"),
    path("digesters/<slug:digester>/limits", LimitsView.as_view(), name="api-limits"),
]
