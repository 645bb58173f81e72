"""A member leaves the group."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.groups.operations.record_fact import record_fact
from apps.people.models import ApiToken, Invitation, Member, MemberRole, Role
from apps.people.operations.change_roles import keep_an_administrator, lock_members
from apps.people.operations.end_sessions import end_sessions


@transaction.atomic
def end_membership(member: Member, *, by: Member, now: datetime) -> None:
    """Close the membership, its roles, tokens and open invitations; what happened stays."""
    lock_members(member.group_id)
    roles = MemberRole.objects.of(member.group).filter(member=member)
    if roles.filter(role=Role.GROUP_ADMIN).exists():
        keep_an_administrator(member)
    roles.delete()
    ApiToken.objects.of(member.group).filter(member=member, revoked_at=None).update(revoked_at=now)
    Invitation.objects.of(member.group).filter(member=member, accepted_at=None).update(
        expires_at=now
    )
    Member.unscoped.filter(pk=member.pk, left_at=None).update(left_at=now)
    if member.user is not None:
        end_sessions(member.user, now=now)
    record_fact(
        member.group,
        "member_left",
        happened_at=now,
        subject_uuid=member.uuid,
        actor_uuid=by.uuid,
    )
