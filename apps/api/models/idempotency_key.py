"""Which requests were already done, and what they were answered."""

from __future__ import annotations

from django.db import models

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member


class IdempotencyKey(GroupScoped):
    """One key that a member's script made up for one request. Kept for ever: a phone may send
    again after weeks. Without `status` the request is still being done (or died at it)."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=255)
    address = models.CharField(max_length=300)
    """Method and path, so that a key cannot be spent on another operation."""
    content_hash = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    answer = models.TextField(blank=True)
    made_at = models.DateTimeField()

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("member"),
            models.UniqueConstraint(
                fields=["group", "member", "key"], name="api_idempotencykey_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.address} {self.key}"
