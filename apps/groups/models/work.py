"""Work that must be done once, remembered by the database and by nothing else.

A worker claims a row by a conditional update on the database's clock and checks that one row
changed. A killed worker's lease runs out and the row is claimed again.
"""

from __future__ import annotations

from django.db import models

from apps.groups.models.scoped import GroupScoped


class Work(GroupScoped):
    """One piece of work; (kind, key) is unique in its group, so asking twice is asking once."""

    kind = models.CharField(max_length=60)
    key = models.CharField(max_length=120)
    payload = models.JSONField(default=dict, blank=True)
    due_at = models.DateTimeField()
    leased_until_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    done_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)
    last_error = models.CharField(max_length=500, blank=True)

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            models.UniqueConstraint(fields=["group", "kind", "key"], name="groups_work_once"),
        ]
        indexes = [
            models.Index(
                fields=["due_at"],
                name="groups_work_open",
                condition=models.Q(done_at=None, given_up_at=None),
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"
