"""Inviting, joining, changing roles and leaving."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth import get_user
from django.test import Client, RequestFactory

from apps.groups.models import Fact
from apps.people.models import ApiToken, Invitation, Member, MemberRole, Role, User, hash_token
from apps.people.operations.accept_invitation import AccountInGroup, accept_invitation
from apps.people.operations.change_roles import LastAdministrator, change_roles
from apps.people.operations.create_group import CodeTaken, create_group
from apps.people.operations.end_membership import end_membership
from apps.people.operations.invite_person import INVITATION_LIFE, AlreadyMember, invite_person
from apps.people.operations.make_sign_in_link import make_sign_in_link
from apps.people.operations.use_sign_in_link import LinkSpent, use_sign_in_link
from tests.cast import Cast


def invite(cast: Cast, email: str = "Nova@Example.org") -> tuple[Invitation, str]:
    return invite_person(
        cast.ana,
        email=email,
        name="Nova",
        roles=[Role.CARRIER, Role.HOUSEHOLDER],
        language="es",
        now=cast.now,
    )


def signed_in(client: Client) -> bool:
    """Whether the client's session still stands for somebody."""
    request = RequestFactory().get("/")
    request.session = client.session
    return get_user(request).is_authenticated


def test_an_invitation_makes_a_member_and_its_link_an_account(cast: Cast) -> None:
    invitation, token = invite(cast)
    assert invitation.token_hash == hash_token(token) != token
    assert not User.objects.filter(email="nova@example.org").exists()
    user = accept_invitation(token, now=cast.now)
    member = Member.objects.of(cast.group).get(user=user)
    assert (user.email, member.language) == ("nova@example.org", "es")
    roles = set(member.member_roles.values_list("role", flat=True))
    assert roles == {Role.CARRIER, Role.HOUSEHOLDER}


def test_an_invitation_is_spent_once(cast: Cast) -> None:
    _invitation, token = invite(cast)
    accept_invitation(token, now=cast.now)
    with pytest.raises(LinkSpent):
        accept_invitation(token, now=cast.now)


def test_members_are_not_invited_again(cast: Cast) -> None:
    with pytest.raises(AlreadyMember, match="Duarte"):
        invite(cast, "duarte@example.org")


def test_inviting_twice_keeps_one_member(cast: Cast) -> None:
    before = Member.objects.of(cast.group).count()
    invite(cast)
    _again, token = invite(cast)
    assert Member.objects.of(cast.group).count() == before + 1
    accept_invitation(token, now=cast.now)


def test_a_role_change_ends_every_session_and_open_link(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.duarte.user)
    link = make_sign_in_link(cast.duarte.user, now=cast.now)
    assert signed_in(client)
    change_roles(cast.duarte, [Role.HOUSEHOLDER], by=cast.ana, now=cast.now)
    # Nothing changed, so nobody is signed out.
    assert signed_in(client)
    change_roles(cast.duarte, [Role.CARRIER], by=cast.ana, now=cast.now)
    assert not signed_in(client)
    with pytest.raises(LinkSpent):
        use_sign_in_link(link, now=cast.now)
    fresh = make_sign_in_link(cast.duarte.user, now=cast.now)
    assert use_sign_in_link(fresh, now=cast.now) == cast.duarte.user


def test_a_group_keeps_an_administrator(cast: Cast) -> None:
    with pytest.raises(LastAdministrator, match="Ana"):
        change_roles(cast.ana, [Role.ASSIGNER], by=cast.ana, now=cast.now)
    with pytest.raises(LastAdministrator):
        end_membership(cast.ana, by=cast.ana, now=cast.now)
    change_roles(cast.bruno, [Role.GROUP_ADMIN], by=cast.ana, now=cast.now)
    end_membership(cast.ana, by=cast.bruno, now=cast.now)
    assert not MemberRole.objects.of(cast.group).filter(member=cast.ana).exists()
    assert Fact.objects.of(cast.group).filter(kind="member_left").count() == 1


def test_leaving_closes_every_door(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.graca.user)
    ApiToken.unscoped.create(
        group=cast.group,
        member=cast.graca,
        label="script",
        token_hash=hash_token("x"),
        made_at=cast.now,
        expires_at=cast.now + timedelta(days=9),
    )
    end_membership(cast.graca, by=cast.ana, now=cast.now)
    assert not signed_in(client)
    assert not ApiToken.objects.of(cast.group).filter(revoked_at=None).exists()
    assert Member.objects.of(cast.group).get(code="graca").left_at == cast.now


def test_an_invitation_ends(cast: Cast) -> None:
    _, token = invite(cast, "nuno@example.org")
    with pytest.raises(LinkSpent):
        accept_invitation(token, now=cast.now + INVITATION_LIFE + timedelta(seconds=1))


def test_somebody_others_act_for_keeps_their_own_row(cast: Cast) -> None:
    Member.unscoped.filter(pk=cast.heitor.pk).update(email="heitor@example.org")
    invitation, token = invite(cast, "heitor@example.org")
    assert invitation.member == cast.heitor
    accept_invitation(token, now=cast.now)
    cast.heitor.refresh_from_db()
    assert cast.heitor.user is not None


def test_one_account_is_one_member(cast: Cast) -> None:
    _, token = invite(cast, "nuno@example.org")
    user = User.objects.create_user("nuno@example.org", name="Nuno")
    Member.unscoped.filter(pk=cast.heitor.pk).update(user=user)
    with pytest.raises(AccountInGroup):
        accept_invitation(token, now=cast.now)


def test_an_administrator_without_account_does_not_count(cast: Cast) -> None:
    change_roles(cast.heitor, [Role.GROUP_ADMIN], by=cast.ana, now=cast.now)
    with pytest.raises(LastAdministrator):
        change_roles(cast.ana, [], by=cast.ana, now=cast.now)


def test_leaving_ends_open_invitations(cast: Cast) -> None:
    invitation, token = invite(cast, "nuno@example.org")
    end_membership(invitation.member, by=cast.ana, now=cast.now)
    with pytest.raises(LinkSpent):
        accept_invitation(token, now=cast.now)


def test_a_code_is_one_groups(cast: Cast) -> None:
    founder = User.objects.create_user("nuno@example.org", name="Nuno")
    with pytest.raises(CodeTaken, match="harbour"):
        create_group(
            founder,
            code="harbour",
            name="Other",
            time_zone="Europe/Lisbon",
            language="en",
            now=cast.now,
        )


def test_each_step_is_a_fact(cast: Cast) -> None:
    invitation, token = invite(cast, "nuno@example.org")
    member = invitation.member
    accept_invitation(token, now=cast.now)
    change_roles(member, [Role.CARRIER], by=cast.ana, now=cast.now)
    end_membership(member, by=cast.ana, now=cast.now)
    kinds = (
        Fact.objects.of(cast.group).filter(subject_uuid=member.uuid).values_list("kind", flat=True)
    )
    assert list(kinds.order_by("id")) == [
        "person_invited",
        "invitation_accepted",
        "roles_changed",
        "member_left",
    ]
