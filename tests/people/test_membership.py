"""Inviting, joining, changing roles and leaving."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.groups.models import Fact
from apps.people.models import Member, MemberRole, Role, User
from apps.people.operations.accept_invitation import AccountInGroup, accept_invitation
from apps.people.operations.change_roles import LastAdministrator, change_roles
from apps.people.operations.create_group import CodeTaken, create_group
from apps.people.operations.end_membership import end_membership
from apps.people.operations.invite_person import (
    INVITATION_LIFE,
    AlreadyMember,
    invite_person,
)
from apps.people.operations.use_sign_in_link import LinkSpent
from tests.cast import Cast


def invite(cast: Cast, email: str, name: str = "Nuno") -> tuple[Member, str]:
    invitation, token = invite_person(
        cast.ana, email=email, name=name, roles=[Role.ASSIGNER], language="en", now=cast.now
    )
    return invitation.member, token


def test_an_invitation_is_spent_once(cast: Cast) -> None:
    member, token = invite(cast, "Nuno@Example.org")
    user = accept_invitation(token, now=cast.now)
    member.refresh_from_db()
    assert member.user == user
    assert user.email == "nuno@example.org"
    with pytest.raises(LinkSpent):
        accept_invitation(token, now=cast.now)


def test_an_invitation_ends(cast: Cast) -> None:
    _, token = invite(cast, "nuno@example.org")
    with pytest.raises(LinkSpent):
        accept_invitation(token, now=cast.now + INVITATION_LIFE + timedelta(seconds=1))


def test_a_member_is_not_invited_again(cast: Cast) -> None:
    with pytest.raises(AlreadyMember, match="Bruno"):
        invite(cast, "BRUNO@example.org")


def test_somebody_others_act_for_keeps_their_own_row(cast: Cast) -> None:
    Member.unscoped.filter(pk=cast.heitor.pk).update(email="heitor@example.org")
    member, token = invite(cast, "heitor@example.org")
    assert member.pk == cast.heitor.pk
    accept_invitation(token, now=cast.now)
    cast.heitor.refresh_from_db()
    assert cast.heitor.user is not None


def test_one_account_is_one_member(cast: Cast) -> None:
    _, token = invite(cast, "nuno@example.org")
    user = User.objects.create_user("nuno@example.org", name="Nuno")
    Member.unscoped.filter(pk=cast.heitor.pk).update(user=user)
    with pytest.raises(AccountInGroup):
        accept_invitation(token, now=cast.now)


def test_the_last_administrator_stays(cast: Cast) -> None:
    with pytest.raises(LastAdministrator, match="Ana"):
        change_roles(cast.ana, [Role.ASSIGNER], by=cast.ana, now=cast.now)
    with pytest.raises(LastAdministrator):
        end_membership(cast.ana, by=cast.ana, now=cast.now)
    change_roles(cast.bruno, [Role.ASSIGNER, Role.GROUP_ADMIN], by=cast.ana, now=cast.now)
    end_membership(cast.ana, by=cast.bruno, now=cast.now)
    cast.ana.refresh_from_db()
    assert cast.ana.left_at == cast.now
    assert not MemberRole.objects.of(cast.group).filter(member=cast.ana).exists()


def test_an_administrator_without_account_does_not_count(cast: Cast) -> None:
    change_roles(cast.heitor, [Role.GROUP_ADMIN], by=cast.ana, now=cast.now)
    with pytest.raises(LastAdministrator):
        change_roles(cast.ana, [], by=cast.ana, now=cast.now)


def test_leaving_ends_open_invitations(cast: Cast) -> None:
    member, token = invite(cast, "nuno@example.org")
    end_membership(member, by=cast.ana, now=cast.now)
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
    member, token = invite(cast, "nuno@example.org")
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
