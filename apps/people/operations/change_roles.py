"""Change what a member does in the group."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict
from apps.kernel.words import gettext_noop
from apps.people.models import Member, MemberRole, Role
from apps.people.operations.end_sessions import end_sessions


class LastAdministrator(Conflict):
    """A group without an administrator could never change again."""

    code = "last_administrator"

    def __init__(self, name: str) -> None:
        super().__init__(
            gettext_noop(
                "%(name)s is the only group administrator who can sign in. "
                "Make somebody else one first."
            ),
            field="roles",
            figures={"name": name},
        )


@transaction.atomic
def change_roles(member: Member, roles: Iterable[Role], *, by: Member, now: datetime) -> None:
    """Set a member's roles and, if they change, end the person's sessions; the group keeps at
    least one administrator who can sign in."""
    lock_members(member.group_id)
    wanted = set(roles)
    held = set(
        MemberRole.objects.of(member.group).filter(member=member).values_list("role", flat=True)
    )
    if wanted == held:
        return
    if Role.GROUP_ADMIN in held and Role.GROUP_ADMIN not in wanted:
        keep_an_administrator(member)
    MemberRole.objects.of(member.group).filter(member=member).exclude(role__in=wanted).delete()
    MemberRole.unscoped.bulk_create(
        MemberRole(group=member.group, member=member, role=role) for role in sorted(wanted - held)
    )
    if member.user is not None:
        end_sessions(member.user, now=now)
    record_fact(
        member.group,
        "roles_changed",
        happened_at=now,
        subject_uuid=member.uuid,
        actor_uuid=by.uuid,
        payload={"roles": sorted(wanted)},
    )


def lock_members(group_id: int) -> None:
    """Two administrators who demote each other at once must not both succeed."""
    Group.objects.select_for_update(no_key=True).get(pk=group_id)


def keep_an_administrator(leaving: Member) -> None:
    """Refuse when no other administrator could sign in."""
    others = (
        MemberRole.objects.of(leaving.group)
        .filter(
            role=Role.GROUP_ADMIN,
            member__left_at=None,
            member__user__isnull=False,
            member__user__is_active=True,
        )
        .exclude(member=leaving)
    )
    if not others.exists():
        raise LastAdministrator(leaving.name)
