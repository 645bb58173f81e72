"""What somebody sent by a link that had ended: kept for a coordinator, never applied by itself."""

from __future__ import annotations

from django.db import models

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.pickups.models.day_link import DayLink
from apps.pickups.models.pickup import Pickup


class LateKind(models.TextChoices):
    """What was said."""

    GOING = "going"
    NOT_GOING = "not_going"
    LATER = "later"
    FAILED = "failed"
    COLLECTED = "collected"
    GIVEN = "given"
    WRONG_WEIGHT = "wrong_weight"
    FED = "fed"
    AS_BEFORE = "as_before"
    NOTHING = "nothing"
    OFFERED = "offered"
    OTHER = "other"


class LateMessage(GroupScoped):
    """`words` are the fields as sent, a list of texts each, written in `language` (of which the
    decimal mark); `part` is the page's. One row for the same words, however often sent."""

    link = models.ForeignKey(DayLink, on_delete=models.CASCADE, related_name="late_messages")
    pickup = models.ForeignKey(
        Pickup, null=True, on_delete=models.CASCADE, related_name="late_messages"
    )
    part = models.CharField(max_length=20, blank=True)
    kind = models.CharField(max_length=12, choices=LateKind.choices)
    amount_g = models.PositiveIntegerField(null=True)
    words = models.JSONField()
    language = models.CharField(max_length=8)
    digest = models.CharField(max_length=64)
    received_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey(
        Member, null=True, on_delete=models.SET_NULL, related_name="late_messages_settled"
    )
    is_applied = models.BooleanField(null=True)

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("link", "pickup", "settled_by"),
            models.UniqueConstraint(fields=["link", "digest"], name="pickups_latemessage_once"),
            models.CheckConstraint(
                name="pickups_latemessage_settled",
                condition=models.Q(settled_at=None, is_applied=None)
                | models.Q(settled_at__isnull=False, is_applied__isnull=False),
            ),
        ]
        indexes = [
            models.Index(
                fields=["group"],
                name="pickups_latemessage_open",
                condition=models.Q(settled_at=None),
            )
        ]

    def __str__(self) -> str:
        return f"late {self.kind} by {self.link_id}"
