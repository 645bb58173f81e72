"""The secret address of one person's calendar."""

from __future__ import annotations

from django.db import models

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member


class CalendarFeed(GroupScoped):
    """128 random bits, kept as a hash; asking for a new address ends the old one."""

    token_hash = models.CharField(max_length=64, unique=True)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="calendar_feeds")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("member"),
            models.UniqueConstraint(
                fields=["member"],
                name="notices_calendar_one",
                condition=models.Q(ended_at=None),
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.member_id}"
