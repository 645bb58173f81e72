"""Join a group by the link of an invitation."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict
from apps.kernel.words import gettext_noop
from apps.people.models import Invitation, Member, User, hash_token
from apps.people.operations.use_sign_in_link import LinkSpent


class AccountInGroup(Conflict):
    """The account is a member under another name already."""

    code = "account_in_group"

    def __init__(self) -> None:
        super().__init__(
            gettext_noop("This e-mail address is in the group already. Sign in with it instead.")
        )


def find_invitation(token: str, *, now: datetime) -> Invitation:
    """An open invitation; reading it changes nothing."""
    invitation = (
        Invitation.unscoped.select_related("member", "group")
        .filter(
            token_hash=hash_token(token),
            accepted_at=None,
            expires_at__gt=now,
            member__left_at=None,
        )
        .first()
    )
    if invitation is None:
        raise LinkSpent
    return invitation


@transaction.atomic
def accept_invitation(token: str, *, now: datetime) -> User:
    """Spend the invitation, once, and return the account that is now a member.

    The account is the one of the invited address, made here if there is none: who reads that
    address's mail is who was invited.
    """
    invitation = find_invitation(token, now=now)
    claimed = Invitation.unscoped.filter(pk=invitation.pk, accepted_at=None).update(accepted_at=now)
    if claimed != 1:
        raise LinkSpent
    member = invitation.member
    user = User.objects.filter(email=invitation.email).first()
    if user is None:
        user = User.objects.create_user(
            invitation.email, name=member.name, language=member.language
        )
    if not user.is_active:
        raise LinkSpent
    others = Member.objects.of(invitation.group).filter(user=user)
    if others.exclude(pk=member.pk).exists():
        raise AccountInGroup
    Member.unscoped.filter(pk=member.pk).update(user=user)
    record_fact(
        invitation.group,
        "invitation_accepted",
        happened_at=now,
        subject_uuid=member.uuid,
        actor_uuid=user.uuid,
    )
    return user
