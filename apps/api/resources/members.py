"""Who belongs to the group, what they do there, and who is asked to join."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS, PEOPLE_KEEPERS
from apps.api.fields import Text
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.people.models import Invitation, Member, Role
from apps.people.operations.change_roles import change_roles
from apps.people.operations.end_membership import end_membership
from apps.people.operations.invite_person import invite_person
from apps.people.operations.mail_invitation import mail_invitation


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

    access = Access({"GET": PEOPLE_KEEPERS})

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

    access = Access({"GET": PEOPLE_KEEPERS, "DELETE": ADMINISTRATORS})

    @operation("show_member", "One member", answer=MemberAnswer)
    def get(self, request: ApiRequest, group: str, member: str) -> Any:
        """By code."""
        return by_code(_members(request), member)

    @operation("end_membership", "A member leaves the group", status=204)
    def delete(self, request: ApiRequest, group: str, member: str) -> None:
        """Roles, tokens and open invitations end; what happened stays."""
        row = by_code(_members(request).filter(left_at=None), member)
        end_membership(row, by=request.member, now=request.now)


class RolesBody(Strict):
    """All roles of one member."""

    roles = serializers.ListField(
        child=serializers.ChoiceField(choices=Role.choices), min_length=1, max_length=6
    )


class RolesView(ApiView):
    """What a member does."""

    access = Access({"PUT": ADMINISTRATORS})

    @operation("change_roles", "Set a member's roles", body=RolesBody, answer=MemberAnswer)
    def put(self, request: ApiRequest, group: str, member: str, body: dict[str, Any]) -> Any:
        """The group keeps at least one administrator who can sign in."""
        row = by_code(_members(request).filter(left_at=None), member)
        wanted = [Role(role) for role in body["roles"]]
        change_roles(row, wanted, by=request.member, now=request.now)
        return by_code(_members(request), member)


class InvitationBody(Strict):
    """Whom to invite, and to do what."""

    email = serializers.EmailField(max_length=254)
    name = Text(max_length=120)
    roles = serializers.ListField(
        child=serializers.ChoiceField(choices=Role.choices), min_length=1, max_length=6
    )
    language = serializers.ChoiceField(choices=["en", "es"], default="en")


class InvitationAnswer(serializers.ModelSerializer[Invitation]):
    """An invitation on its way; the link is only in the mail."""

    member = serializers.CharField(source="member.code")

    class Meta:
        model = Invitation
        fields = ("uuid", "member", "email", "made_at", "expires_at")


class InvitationsView(ApiView):
    """Offers of roles."""

    access = Access({"POST": ADMINISTRATORS})

    @operation(
        "invite_person",
        "Invite somebody by mail",
        body=InvitationBody,
        answer=InvitationAnswer,
        status=201,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """The mail goes out once the invitation is kept."""
        body["roles"] = [Role(role) for role in body["roles"]]
        invitation, token = invite_person(request.member, **body, now=request.now)
        transaction.on_commit(lambda: mail_invitation(invitation, token))
        return invitation


addresses = [
    path("members", MembersView.as_view(), name="api-members"),
    path("members/<slug:member>", MemberView.as_view(), name="api-member"),
    path("members/<slug:member>/roles", RolesView.as_view(), name="api-member-roles"),
    path("invitations", InvitationsView.as_view(), name="api-invitations"),
]
