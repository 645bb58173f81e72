"""Whom to ask when a link or a page cannot help."""

from __future__ import annotations

from apps.groups.models import Group
from apps.people.models import Member, Role


def coordinators(group: Group) -> list[Member]:
    """The group's coordinators, or its administrators where it has none. One or two queries."""
    for role in (Role.COORDINATOR, Role.GROUP_ADMIN):
        found = list(
            Member.objects.of(group)
            .filter(member_roles__role=role, left_at=None)
            .select_related("user")
            .order_by("code")
        )
        if found:
            return found
    return []


def whom_to_ask(group: Group) -> str:
    """Their names, for a sentence."""
    return ", ".join(member.name for member in coordinators(group))
