"""Everybody who may knock at an address, and two groups that they may knock at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from django.test import Client
from django.utils import timezone

from apps.groups.models import Group
from apps.people.models import ApiToken, Member, Role, User, hash_token
from apps.people.operations.add_member import add_member

OWN, OTHER = "own-group", "other-group"
GROUPS = {"own": OWN, "other": OTHER}


@dataclass(frozen=True, slots=True)
class Actor:
    """One kind of asker. `roles` are those in the own group; None: not a member of it."""

    name: str
    signed_in: bool = True
    roles: frozenset[Role] | None = None
    is_operator: bool = False
    by_token: bool = False


ACTORS = (
    Actor("anonymous", signed_in=False),
    Actor("outsider"),
    *(Actor(role.value, roles=frozenset({role})) for role in Role),
    Actor("operator", is_operator=True),
    Actor("former_member"),
    Actor("member_of_other"),
    Actor("group_admin_by_token", roles=frozenset({Role.GROUP_ADMIN}), by_token=True),
)
"""A former member held every role in the own group; a member of the other group holds every
role there, and nothing in the own one."""


def make_groups() -> dict[str, Group]:
    """The own group and the other one."""
    return {
        code: Group.objects.create(code=code, name=code, time_zone="Europe/Lisbon")
        for code in (OWN, OTHER)
    }


def knocking(actor: Actor, groups: dict[str, Group]) -> Client:
    """A client that is signed in as this actor, who is made for it."""
    client = Client(raise_request_exception=False)
    if not actor.signed_in:
        return client
    user = User.objects.create_user(
        f"{actor.name}@example.org", name=actor.name, is_operator=actor.is_operator
    )
    if actor.roles is not None:
        member = add_member(
            groups[OWN], code=actor.name, name=actor.name, roles=actor.roles, user=user
        )
        if actor.by_token:
            return Client(raise_request_exception=False, headers=bearer(member))
    if actor.name == "former_member":
        member = add_member(groups[OWN], code="former", name="Former", roles=Role, user=user)
        Member.unscoped.filter(pk=member.pk).update(left_at=timezone.now())
    if actor.name == "member_of_other":
        add_member(groups[OTHER], code="elsewhere", name="Elsewhere", roles=Role, user=user)
    client.force_login(user)
    return client


def bearer(member: Member, secret: str | None = None) -> dict[str, str]:
    """Headers with a fresh token of this member."""
    secret = secret or f"token-of-{member.code}"
    now = timezone.now()
    ApiToken.unscoped.create(
        group=member.group,
        member=member,
        label="test",
        token_hash=hash_token(secret),
        made_at=now,
        expires_at=now + timedelta(days=1),
    )
    return {"Authorization": f"Bearer {secret}"}
