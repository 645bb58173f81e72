"""A digester's own limits: tighter at once, looser with a second person."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS, PLANNERS, digesters_for
from apps.api.fields import Code, Text
from apps.api.lookup import by_code, by_uuid
from apps.api.operation import Key, operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import LimitChange
from apps.digesters.operations.change_limit import (
    confirm_loosening,
    loosen_limit,
    tighten_limit,
    withdraw_loosening,
)
from apps.people.access import Access


class LimitChangeAnswer(serializers.ModelSerializer[LimitChange]):
    """Who asked for which value and why; a loosening counts from `confirmed_at`."""

    asked_by = serializers.CharField(source="asked_by.code")
    confirmed_by = serializers.CharField(source="confirmed_by.code", default=None, allow_null=True)

    class Meta:
        model = LimitChange
        fields = (
            "uuid",
            "limit_id",
            "value",
            "reason",
            "loosens",
            "asked_at",
            "asked_by",
            "confirmed_at",
            "confirmed_by",
            "ended_at",
        )


class LimitBody(Strict):
    """Which limit, its value in the limit's unit, and why."""

    limit_id = Code()
    value = serializers.DecimalField(12, 4)
    reason = Text(max_length=200)


def _changes(request: ApiRequest, digester: str) -> QuerySet[LimitChange]:
    row = by_code(digesters_for(request.admission), digester)
    changes: QuerySet[LimitChange] = LimitChange.objects.of(request.group)
    return changes.filter(digester=row).select_related("asked_by", "confirmed_by")


class LimitChangesView(ApiView):
    """The changes of one digester's limits."""

    access = Access({"GET": PLANNERS})

    @operation(
        "list_limit_changes",
        "Changes of a digester's limits, oldest first",
        answer=LimitChangeAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, digester: str) -> Any:
        """Ended and unconfirmed ones too."""
        return _changes(request, digester)


class TighteningsView(ApiView):
    """Holding a digester lower."""

    access = Access({"POST": ADMINISTRATORS})

    @operation(
        "tighten_limit",
        "Hold a digester lower from now on",
        body=LimitBody,
        answer=LimitChangeAnswer,
        status=201,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Counts at once."""
        row = by_code(digesters_for(request.admission), digester)
        return tighten_limit(row, **body, asked_by=request.member, now=request.now)


class LooseningsView(ApiView):
    """Asking for a looser value."""

    access = Access({"POST": ADMINISTRATORS})

    @operation(
        "loosen_limit",
        "Ask for a looser limit",
        body=LimitBody,
        answer=LimitChangeAnswer,
        status=201,
        key=Key.REQUIRED,
        description="Nothing changes until a second person confirms it.",
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Waits for a second person."""
        row = by_code(digesters_for(request.admission), digester)
        return loosen_limit(row, **body, asked_by=request.member, now=request.now)


class ConfirmationView(ApiView):
    """The second person."""

    access = Access({"POST": ADMINISTRATORS})

    @operation(
        "confirm_loosening",
        "Confirm a looser limit as the second person",
        answer=LimitChangeAnswer,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, digester: str, change: UUID) -> Any:
        """Somebody other than who asked."""
        row = by_uuid(_changes(request, digester), change)
        return confirm_loosening(row, confirmed_by=request.member, now=request.now)


class WithdrawalView(ApiView):
    """Taking back what waits."""

    access = Access({"POST": ADMINISTRATORS})

    @operation(
        "withdraw_loosening",
        "Withdraw a looser limit that waits for a second person",
        answer=LimitChangeAnswer,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, digester: str, change: UUID) -> Any:
        """Nothing that counts changes."""
        row = by_uuid(_changes(request, digester), change)
        return withdraw_loosening(row, withdrawn_by=request.member, now=request.now)


addresses = [
    path(
        "digesters/<slug:digester>/limit-changes",
        LimitChangesView.as_view(),
        name="api-limit-changes",
    ),
    path(
        "digesters/<slug:digester>/limit-tightenings",
        TighteningsView.as_view(),
        name="api-limit-tightenings",
    ),
    path(
        "digesters/<slug:digester>/limit-loosenings",
        LooseningsView.as_view(),
        name="api-limit-loosenings",
    ),
    path(
        "digesters/<slug:digester>/limit-changes/<uuid:change>/confirmation",
        ConfirmationView.as_view(),
        name="api-limit-confirmation",
    ),
    path(
        "digesters/<slug:digester>/limit-changes/<uuid:change>/withdrawal",
        WithdrawalView.as_view(),
        name="api-limit-withdrawal",
    ),
]
