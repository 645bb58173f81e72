"""Shares of the last 28 days."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PLANNERS
from apps.api.operation import operation
from apps.api.view import ApiRequest, ApiView
from apps.kernel.days import local_date
from apps.people.access import Access
from apps.planning.queries.fair_shares import fair_shares


class ShareAnswer(serializers.Serializer[Any]):
    """What one had, wished for and could take: minutes of one burner, or days with a visit."""

    code = serializers.CharField()
    got = serializers.IntegerField()
    wished = serializers.IntegerField()
    could = serializers.IntegerField()


class SharesAnswer(serializers.Serializer[Any]):
    """Both lists, and how even each is: Jain's index, 1 when all have the same part."""

    first_on = serializers.DateField()
    last_on = serializers.DateField()
    homes = ShareAnswer(many=True)
    sources = ShareAnswer(many=True)
    homes_index = serializers.FloatField()
    sources_index = serializers.FloatField()


class SharesView(ApiView):
    """Everybody's shares."""

    access = Access({"GET": PLANNERS})

    @operation("show_shares", "Shares of the last 28 days", answer=SharesAnswer)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Yesterday is the last day."""
        found = fair_shares(request.group, local_date(request.now, request.group.time_zone))
        return {
            "first_on": found.first_on,
            "last_on": found.last_on,
            "homes": [_row(each.digester.code, each.minutes) for each in found.homes],
            "sources": [_row(each.source.code, each.visits) for each in found.sources],
            "homes_index": found.homes_index,
            "sources_index": found.sources_index,
        }


def _row(code: str, share: Any) -> dict[str, Any]:
    return {"code": code, "got": share.got, "wished": share.wished, "could": share.could}


addresses = [path("shares", SharesView.as_view(), name="api-shares")]
