"""Something that happened, written with it in one transaction, for others to act on."""

from __future__ import annotations

from django.db import models

from apps.groups.models.scoped import GroupScoped


class Fact(GroupScoped):
    """One event of one group. Never edited; what acts on it is a `Work` row."""

    kind = models.CharField(max_length=60)
    subject_uuid = models.UUIDField(null=True, blank=True)
    payload = models.JSONField(default=dict, blank=True)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    actor_uuid = models.UUIDField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        indexes = [models.Index(fields=["group", "kind", "happened_at"])]

    def __str__(self) -> str:
        return f"{self.kind} {self.happened_at:%Y-%m-%d %H:%M}"
