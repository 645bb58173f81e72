"""Something one person must be told, once."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member


class NoticeState(models.TextChoices):
    """Where a notice is."""

    WAITING = "waiting", _("waiting")
    SENT = "sent", _("sent")
    NO_CHANNEL = "no_channel", _("nobody can be reached this way")
    FAILED = "failed", _("could not be sent")


class Notice(GroupScoped):
    """(person, kind, subject, version) is unique: asking twice tells once. The words are made
    when it is sent, in the person's language, from `payload`; a link is made then, too, and
    never stored in the clear."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="notices")
    kind = models.CharField(max_length=40)
    subject = models.CharField(max_length=80)
    version = models.PositiveIntegerField(default=1)
    payload = models.JSONField(default=dict)
    state = models.CharField(
        max_length=10, choices=NoticeState.choices, default=NoticeState.WAITING
    )
    channel = models.CharField(max_length=20, blank=True)
    made_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)

    class Meta(GroupScoped.Meta):
        ordering = ["made_at", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("member"),
            models.UniqueConstraint(
                fields=["member", "kind", "subject", "version"], name="notices_notice_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} to {self.member_id}"
