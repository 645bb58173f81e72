"""Who belongs to a group, and what they do there."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Coded, GroupScoped, same_group
from apps.people.models.user import User


class Role(models.TextChoices):
    """What a member does in a group; one member may do several."""

    GROUP_ADMIN = "group_admin", _("group administrator")
    ASSIGNER = "assigner", _("assigner")
    COORDINATOR = "coordinator", _("coordinator")
    HOUSEHOLDER = "householder", _("householder")
    SOURCE_CONTACT = "source_contact", _("source contact")
    CARRIER = "carrier", _("carrier")


class Member(Coded):
    """A person in a group. `user` is empty for somebody whom others act for."""

    user = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.PROTECT, related_name="members"
    )
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    language = models.CharField(max_length=10, default="en")
    carry_limit_g = models.PositiveIntegerField(default=15_000)
    left_at = models.DateTimeField(null=True, blank=True)

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            models.UniqueConstraint(
                fields=["group", "user"],
                name="people_member_user",
                condition=models.Q(user__isnull=False),
            ),
            models.CheckConstraint(
                name="people_member_carry",
                condition=models.Q(carry_limit_g__gte=500, carry_limit_g__lte=25_000),
            ),
        ]


class MemberRole(GroupScoped):
    """One role of one member."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="member_roles")
    role = models.CharField(max_length=20, choices=Role.choices)

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("member"),
            models.UniqueConstraint(fields=["member", "role"], name="people_memberrole_once"),
        ]

    def __str__(self) -> str:
        return self.role
