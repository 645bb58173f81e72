"""Inviting, joining, changing roles and leaving."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth import get_user
from django.test import Client, RequestFactory

from apps.groups.models import Fact
from apps.people.models import ApiToken, Invitation, Member, Role, User, hash_token
from apps.people.operations.accept_invitation import accept_invitation
from apps.people.operations.change_roles import LastAdministrator, change_roles
from apps.people.operations.end_membership import end_membership
from apps.people.operations.invite_person import AlreadyMember, invite_person
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


def test_a_link_works_once_and_not_for_ever(cast: Cast) -> None:
    _invitation, token = invite(cast)
    accept_invitation(token, now=cast.now)
    with pytest.raises(LinkSpent):
        accept_invitation(token, now=cast.now)
    _invitation, late = invite(cast, "late@example.org")
    with pytest.raises(LinkSpent):
        accept_invitation(late, now=cast.now + timedelta(days=15))


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
