"""Offer somebody roles in a group, by a link mailed to them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict
from apps.kernel.words import gettext_noop
from apps.people.models import Invitation, Member, Role, hash_token, make_token
from apps.people.operations.add_member import add_member

INVITATION_LIFE = timedelta(days=14)


class AlreadyMember(Conflict):
    """The address belongs to somebody who is in the group and signs in already."""

    code = "already_member"

    def __init__(self, name: str) -> None:
        super().__init__(
            gettext_noop("%(name)s is in the group already. Change the roles on their own page."),
            field="email",
            figures={"name": name},
        )


@transaction.atomic
def invite_person(
    inviter: Member,
    *,
    email: str,
    name: str,
    roles: Iterable[Role],
    language: str,
    now: datetime,
) -> tuple[Invitation, str]:
    """Make the member now and the account when the link is used; return the token to mail.

    Somebody whom others acted for so far, known by the same address, keeps their own row.
    """
    group = inviter.group
    address = email.strip().lower()
    member = Member.objects.of(group).filter(email__iexact=address, left_at=None).first()
    if member is not None and member.user_id is not None:
        raise AlreadyMember(member.name)
    if member is None:
        member = add_member(
            group,
            code=next_member_code(group.pk),
            name=name,
            roles=roles,
            email=address,
            language=language,
        )
    token = make_token()
    invitation = Invitation.unscoped.create(
        group=group,
        member=member,
        email=address,
        token_hash=hash_token(token),
        invited_by=inviter.user,
        made_at=now,
        expires_at=now + INVITATION_LIFE,
    )
    record_fact(
        group,
        "person_invited",
        happened_at=now,
        subject_uuid=member.uuid,
        actor_uuid=inviter.uuid,
    )
    return invitation, token


def next_member_code(group_id: int) -> str:
    """The next free `person-N` of a group."""
    taken = set(
        Member.unscoped.filter(group_id=group_id, code__startswith="person-").values_list(
            "code", flat=True
        )
    )
    number = len(taken) + 1
    while f"person-{number}" in taken:
        number += 1
    return f"person-{number}"
