"""Who is asking, and in which groups."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.operation import operation
from apps.api.view import ApiRequest, ApiView
from apps.people.access import SIGNED_IN, Access
from apps.people.models import ApiToken, Member, Role


class Membership(serializers.Serializer[Any]):
    """One group and what the asker does there."""

    group = serializers.CharField(source="group.code")
    name = serializers.CharField(source="group.name")
    member = serializers.CharField(source="code")
    roles = serializers.SerializerMethodField()

    def get_roles(self, member: Member) -> list[Role]:
        """Sorted."""
        return sorted(Role(held.role) for held in member.member_roles.all())


class Me(serializers.Serializer[Any]):
    """The account that is asking."""

    uuid = serializers.UUIDField()
    name = serializers.CharField()
    language = serializers.CharField()
    is_operator = serializers.BooleanField()
    memberships = Membership(many=True)


class MeView(ApiView):
    """Whoever asks."""

    access = Access({"GET": SIGNED_IN})

    @operation("show_me", "Who is asking, and in which groups", answer=Me)
    def get(self, request: ApiRequest) -> dict[str, Any]:
        """A token shows the one group that it is for."""
        user = request.admission.user
        assert user is not None
        members = Member.unscoped.filter(user=user, left_at=None)
        if isinstance(request.auth, ApiToken):
            members = members.filter(group=request.auth.group)
        return {
            "uuid": user.uuid,
            "name": user.name,
            "language": user.language,
            "is_operator": user.is_operator and not isinstance(request.auth, ApiToken),
            "memberships": members.select_related("group")
            .prefetch_related("member_roles")
            .order_by("group__code"),
        }


addresses = [path("me", MeView.as_view(), name="api-me")]
