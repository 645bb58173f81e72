"""Take a person into a group."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction

from apps.groups.models import Group
from apps.people.models import Member, MemberRole, Role, User


@transaction.atomic
def add_member(
    group: Group,
    *,
    code: str,
    name: str,
    roles: Iterable[Role],
    user: User | None = None,
    email: str = "",
    language: str | None = None,
) -> Member:
    """Make a member with `roles`; the account, if any, may come later by invitation."""
    member = Member(
        group=group,
        code=code,
        name=name,
        user=user,
        email=email or (user.email if user else ""),
        language=language or group.language,
    )
    member.full_clean(exclude=["left_at", *([] if user else ["user"])])
    member.save()
    MemberRole.unscoped.bulk_create(
        MemberRole(group=group, member=member, role=role) for role in sorted(set(roles))
    )
    return member
