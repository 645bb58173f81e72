"""What a digester is to be fed on a day, and writing down that it was fed so."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import DIGESTER_KEEPERS, DIGESTER_READERS, digesters_for, kept_digesters
from apps.api.fields import Day, Instant, YesNo
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.resources.feedings import ASKS_AGAIN, FeedingAnswer, FeedingsBase, PortionAnswer
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.feedstock.models import Material, Measure
from apps.kernel.days import local_date
from apps.people.access import MEMBER, Access
from apps.pickups.queries.daily_recipe import daily_recipe


class RecipeAnswer(serializers.Serializer[Any]):
    """Planned grams, but no more than the bin holds; `words` say them in the own measures."""

    on = serializers.DateField()
    is_planned = serializers.BooleanField()
    words = serializers.CharField()
    from_bin = PortionAnswer(many=True)
    own_waste = PortionAnswer(many=True)
    water_ml = serializers.IntegerField()


class MeasureAnswer(serializers.ModelSerializer[Measure]):
    """A container that people measure by; waste counts as 1 kg a litre."""

    class Meta:
        model = Measure
        fields = ("uuid", "code", "name", "volume_ml")


class RecipeQuery(Strict):
    """Which day."""

    on = Day(required=False, help_text="Today, when nothing is said.")


class ByRecipeBody(Strict):
    """As the recipe of that local day says."""

    happened_at = Instant(required=False, help_text="Now, when nothing is said.")
    is_confirmed = YesNo(default=False, help_text="The danger was read, and it was fed so.")


class RecipeView(ApiView):
    """One digester's recipe of one day."""

    access = Access({"GET": DIGESTER_READERS})

    @operation(
        "show_recipe",
        "What a digester is to be fed on a day",
        query=RecipeQuery,
        answer=RecipeAnswer,
    )
    def get(self, request: ApiRequest, group: str, digester: str, query: dict[str, Any]) -> Any:
        """Without a plan: own kitchen waste alone."""
        on = query.get("on", local_date(request.now, request.group.time_zone))
        recipe = daily_recipe(_with_accounts(digesters_for(request.admission), digester), on)
        return {
            "on": on,
            "is_planned": recipe.is_planned,
            "words": recipe.words,
            "from_bin": _portions(recipe.from_bin_g),
            "own_waste": _portions(recipe.own_waste_g),
            "water_ml": recipe.water_ml,
        }


class ByRecipeView(FeedingsBase):
    """In one tap."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "feed_by_recipe",
        "Write down that a digester was fed as its recipe says",
        body=ByRecipeBody,
        answer=FeedingAnswer,
        status=201,
        key=Key.REQUIRED,
        description=ASKS_AGAIN,
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Householders at their own."""
        fed_at = body.get("happened_at", request.now)
        row = _with_accounts(kept_digesters(request.admission), digester)
        recipe = daily_recipe(row, local_date(fed_at, request.group.time_zone))
        return self.feed(
            request,
            row,
            from_bin_g=recipe.from_bin_g,
            own_waste_g=recipe.own_waste_g,
            water_ml=recipe.water_ml,
            fed_at=fed_at,
            is_confirmed=body["is_confirmed"],
        )


class MeasuresView(ApiView):
    """What people measure by."""

    access = Access({"GET": MEMBER})

    @operation("list_measures", "Pails, jugs and their like", answer=MeasureAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """By code."""
        return Measure.objects.of(request.group).order_by("code")


def _with_accounts(rows: Any, code: str) -> Any:
    related = ("group", "place", "household", "account", "bin_account")
    return by_code(rows.select_related(*related), code)


def _portions(amounts_g: Any) -> list[dict[str, Any]]:
    found: list[tuple[Material, int]] = list(amounts_g.items())
    return [{"material": each.code, "amount_g": amount_g} for each, amount_g in found]


addresses = [
    path("measures", MeasuresView.as_view(), name="api-measures"),
    path("digesters/<slug:digester>/recipe", RecipeView.as_view(), name="api-recipe"),
    path(
        "digesters/<slug:digester>/feedings/by-recipe",
        ByRecipeView.as_view(),
        name="api-feeding-by-recipe",
    ),
]
