"""Who belongs to the group, and what they do there."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.lookup import by_code
from apps.api.operation import operation
from apps.api.paging import Paging
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access, roles
from apps.people.models import Member, Role

KEEPERS = roles(Role.GROUP_ADMIN, Role.COORDINATOR)


class MemberAnswer(serializers.ModelSerializer[Member]):
    """A member. The e-mail address is for the group administrator alone."""

    roles = serializers.SerializerMethodField()
    email = serializers.SerializerMethodField()
    has_account = serializers.SerializerMethodField()

    class Meta:
        model = Member
        fields = (
            "uuid",
            "code",
            "name",
            "email",
            "language",
            "carry_limit_g",
            "has_account",
            "left_at",
            "roles",
        )

    def get_roles(self, member: Member) -> list[Role]:
        """Sorted."""
        return sorted(Role(held.role) for held in member.member_roles.all())

    def get_email(self, member: Member) -> str | None:
        """Null for whoever may not see it."""
        seen = Role.GROUP_ADMIN in self.context["admission"].roles
        return member.email if seen else None

    def get_has_account(self, member: Member) -> bool:
        """Whether they can sign in themselves."""
        return member.user_id is not None


class MembersQuery(Paging):
    """Which members."""

    role = serializers.ChoiceField(choices=Role.choices, required=False)


def _members(request: ApiRequest) -> QuerySet[Member]:
    group = request.admission.group
    assert group is not None
    return Member.objects.of(group).prefetch_related("member_roles")


class MembersView(ApiView):
    """All members."""

    access = Access({"GET": KEEPERS})

    @operation(
        "list_members", "Members by code", query=MembersQuery, answer=MemberAnswer, many=True
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Those who left are among them, with the instant."""
        members = _members(request)
        if "role" in query:
            members = members.filter(member_roles__role=query["role"])
        return members


class MemberView(ApiView):
    """One member."""

    access = Access({"GET": KEEPERS})

    @operation("show_member", "One member", answer=MemberAnswer)
    def get(self, request: ApiRequest, group: str, member: str) -> Any:
        """By code."""
        return by_code(_members(request), member)


addresses = [
    path("members", MembersView.as_view(), name="api-members"),
    path("members/<slug:member>", MemberView.as_view(), name="api-member"),
]
