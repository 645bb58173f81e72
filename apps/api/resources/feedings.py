"""What really went into a digester. Nothing is edited: it is taken back and recorded anew."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import Prefetch, Q, QuerySet
from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import (
    DIGESTER_KEEPERS,
    DIGESTER_READERS,
    digesters_for,
    kept_digesters,
)
from apps.api.fields import Day, Grams, Instant, Named, Text, Whole, YesNo
from apps.api.lookup import by_code, by_uuid
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester
from apps.digesters.operations.feed_digester import feed_digester
from apps.feedstock.core.measures import Measure as CoreMeasure
from apps.feedstock.core.measures import MeasureCount
from apps.feedstock.models import Material, Measure
from apps.kernel.errors import Refused
from apps.kernel.quantities import MAX_FACT
from apps.ledger.models import Liquid, LiquidKind, Movement, Posting, PostingKind
from apps.ledger.operations.reverse_posting import reverse_posting
from apps.people.access import Access

ASKS_AGAIN = (
    "More than the day's maximum, or feeding in a stage without it, is asked again: 409 "
    "`over_feeding` names the danger and its figure. What happened is recorded all the same: send "
    "it with `is_confirmed`; the coordinator is told. Write down indoors, no phone beside the gas."
)
MOST_HALVES = 200
NOTE_LENGTH = 200


class MeasuredBody(Strict):
    """So many half measures, such as 3 halves of a pail."""

    measure = Named(Measure)
    halves = Whole(min_value=1, max_value=MOST_HALVES)


class PortionBody(Strict):
    """Grams of one material, or so much in an own measure at 1 kg a litre."""

    material = Named(Material)
    amount_g = Grams(required=False)
    measured = MeasuredBody(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """One of the two."""
        if ("amount_g" in attrs) == ("measured" in attrs):
            raise serializers.ValidationError({"amount_g": _("Give grams, or your own measure.")})
        amount_g = attrs["amount_g"] if "amount_g" in attrs else volume_ml(attrs["measured"])
        if amount_g > MAX_FACT:
            raise serializers.ValidationError({"measured": _("That is more than can be fed.")})
        return {"material": attrs["material"], "amount_g": amount_g}


class FeedingBody(Strict):
    """From the bin, from the own kitchen, and the water with it."""

    happened_at = Instant()
    from_bin = PortionBody(many=True, default=list, max_length=50)
    own_waste = PortionBody(many=True, default=list, max_length=50)
    water_ml = Whole(min_value=0, max_value=MAX_FACT, default=0)
    water_measured = MeasuredBody(required=False, help_text="Instead of `water_ml`.")
    note = Text(max_length=NOTE_LENGTH, default="", allow_blank=True)
    is_confirmed = YesNo(default=False, help_text="The danger was read, and it was fed so.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Something, and each material once."""
        measured = attrs.pop("water_measured", None)
        if measured and attrs["water_ml"]:
            raise serializers.ValidationError(
                {"water_ml": _("Give millilitres, or your own measure.")}
            )
        if measured:
            attrs["water_ml"] = min(volume_ml(measured), MAX_FACT)
        if not (attrs["from_bin"] or attrs["own_waste"] or attrs["water_ml"]):
            raise serializers.ValidationError("Nothing was fed; give grams or water.")
        for name in ("from_bin", "own_waste"):
            codes = [portion["material"].code for portion in attrs[name]]
            twice = sorted({code for code in codes if codes.count(code) > 1})
            if twice:
                raise serializers.ValidationError(
                    {name: f"{twice[0]} is given twice; add the grams up."}
                )
        return attrs


class ReversalBody(Strict):
    """Why it is taken back."""

    reason = Text(max_length=200)


class PortionAnswer(serializers.Serializer[Any]):
    """Grams of one material."""

    material = serializers.CharField()
    amount_g = serializers.IntegerField()


class FeedingAnswer(serializers.Serializer[Any]):
    """A feeding. `variance` is what was fed beyond what the bin held by the book."""

    uuid = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=[PostingKind.FEEDING, PostingKind.REVERSAL])
    on = serializers.DateField()
    happened_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    portions = serializers.SerializerMethodField()
    water_ml = serializers.SerializerMethodField()
    note = serializers.CharField()
    reversed_by = serializers.SerializerMethodField()

    def get_portions(self, posting: Posting) -> PortionAnswer(many=True):  # type: ignore[valid-type]
        """Into the digester; out of it in a reversal, then negative."""
        account_id = self.context["view"].account_id
        sums: dict[str, int] = {}
        for move in posting.movements.all():
            sign = (move.to_account_id == account_id) - (move.from_account_id == account_id)
            if sign:
                code = move.material.code
                sums[code] = sums.get(code, 0) + sign * move.amount_g
        return [{"material": code, "amount_g": sums[code]} for code in sorted(sums)]

    def get_water_ml(self, posting: Posting) -> int:
        """Negative in a reversal."""
        return sum(each.amount_ml for each in posting.liquids.all())

    def get_reversed_by(self, posting: Posting) -> UUID | None:
        """What took it back, if anything did."""
        reversal = getattr(posting, "reversed_by", None)
        return reversal.uuid if reversal else None


class FeedingsQuery(Paging):
    """Which days."""

    first_on = Day(required=False)
    last_on = Day(required=False)


class FeedingsBase(ApiView):
    """Finds the digester and its feedings."""

    account_id: int

    def digester(self, request: ApiRequest, code: str) -> Digester:
        """Its account is what portions are counted into."""
        row = by_code(
            digesters_for(request.admission).select_related("account", "bin_account"), code
        )
        self.account_id = row.account_id
        return row

    def feedings(self, request: ApiRequest, digester: Digester) -> QuerySet[Posting]:
        """Oldest first, reversals among them."""
        postings: QuerySet[Posting] = Posting.objects.of(request.group)
        return (
            postings.filter(
                Q(movements__to_account=digester.account_id)
                | Q(movements__from_account=digester.account_id)
                | Q(liquids__account=digester.account_id, liquids__kind=LiquidKind.WATER),
                kind__in=[PostingKind.FEEDING, PostingKind.REVERSAL],
            )
            .distinct()
            .select_related("reversed_by")
            .prefetch_related(
                Prefetch("movements", Movement.unscoped.select_related("material")),
                Prefetch("liquids", Liquid.unscoped.filter(kind=LiquidKind.WATER)),
            )
            .order_by("happened_at", "pk")
        )

    def feed(self, request: ApiRequest, digester: Digester, note: str = "", **meal: Any) -> Posting:
        """Write it down; whoever acts for the household says so in the note."""
        self.account_id = digester.account_id
        home = digester.household
        if home is not None and home.pk != request.member.pk:
            note = f"for: {home.code} {note}".strip()[:NOTE_LENGTH]
        try:
            fed = feed_digester(
                digester,
                **meal,
                note=note,
                now=request.now,
                client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
                recorded_by=request.member,
            )
        except Refused as error:
            # The body's own name of the field.
            error.field = {"fed_at": "happened_at"}.get(error.field or "", error.field)
            raise
        return self.feedings(request, digester).get(pk=fed.posted.posting.pk)


class FeedingsView(FeedingsBase):
    """All feedings of one digester."""

    access = Access({"GET": DIGESTER_READERS, "POST": DIGESTER_KEEPERS})

    @operation(
        "list_feedings",
        "Feedings of a digester, oldest first",
        query=FeedingsQuery,
        answer=FeedingAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, digester: str, query: dict[str, Any]) -> Any:
        """Reversals too."""
        feedings = self.feedings(request, self.digester(request, digester))
        names = {"first_on": "on__gte", "last_on": "on__lte"}
        return feedings.filter(
            **{names[name]: value for name, value in query.items() if name in names}
        )

    @operation(
        "record_feeding",
        "Write down what was fed",
        body=FeedingBody,
        answer=FeedingAnswer,
        status=201,
        key=Key.REQUIRED,
        description=ASKS_AGAIN,
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Householders at their own."""
        return self.feed(
            request,
            by_code(
                kept_digesters(request.admission).select_related(
                    "group", "household", "account", "bin_account"
                ),
                digester,
            ),
            from_bin_g=_grams(body["from_bin"]),
            own_waste_g=_grams(body["own_waste"]),
            water_ml=body["water_ml"],
            fed_at=body["happened_at"],
            is_confirmed=body["is_confirmed"],
            note=body["note"],
        )


class ReversalView(FeedingsBase):
    """Taking a feeding back."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "reverse_feeding",
        "Take a wrong feeding back",
        body=ReversalBody,
        answer=FeedingAnswer,
        status=201,
        key=Key.REQUIRED,
    )
    def post(
        self, request: ApiRequest, group: str, digester: str, feeding: UUID, body: dict[str, Any]
    ) -> Any:
        """By its mirror image; what is right is then recorded anew."""
        row = self.digester(request, digester)
        posted = reverse_posting(
            request.group,
            by_uuid(self.feedings(request, row), feeding),
            reason=body["reason"],
            now=request.now,
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
            recorded_by_uuid=request.member.uuid,
        )
        return self.feedings(request, row).get(pk=posted.posting.pk)


def volume_ml(measured: dict[str, Any]) -> int:
    """Millilitres in so many halves of a measure."""
    measure = measured["measure"]
    return MeasureCount(CoreMeasure(measure.name, measure.volume_ml), measured["halves"]).volume_ml


def _grams(portions: list[dict[str, Any]]) -> dict[Material, int]:
    return {portion["material"]: portion["amount_g"] for portion in portions}


addresses = [
    path("digesters/<slug:digester>/feedings", FeedingsView.as_view(), name="api-feedings"),
    path(
        "digesters/<slug:digester>/feedings/<uuid:feeding>/reversal",
        ReversalView.as_view(),
        name="api-feeding-reversal",
    ),
]
