"""What does not belong into a digester and was found among the waste."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.pickups.models.pickup import Pickup
from apps.supply.models import Stream


class ForeignKind(models.TextChoices):
    """What was found."""

    PLASTIC = "plastic", _("plastic")
    GLASS = "glass", _("glass or metal")
    BONES = "bones", _("bones or shells")
    WOOD = "wood", _("wood or stones")
    CLEANER = "cleaner", _("soap, cleaner or chemicals")
    WRONG = "wrong", _("another material than agreed")
    ROTTEN = "rotten", _("rotten or mouldy")
    OTHER = "other", _("something else")


class ForeignMatter(GroupScoped):
    """One find. `is_refused`: the waste stayed at the source; else it was taken and the foreign
    part set aside."""

    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="foreign_matter")
    pickup = models.ForeignKey(
        Pickup, null=True, on_delete=models.SET_NULL, related_name="foreign_matter"
    )
    kind = models.CharField(max_length=10, choices=ForeignKind.choices)
    amount_g = models.PositiveIntegerField(default=0)
    is_refused = models.BooleanField(default=False)
    on = models.DateField()
    noted_at = models.DateTimeField()
    noted_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    client_key = models.CharField(max_length=100)

    class Meta(GroupScoped.Meta):
        ordering = ["on", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("stream", "pickup", "noted_by"),
            models.UniqueConstraint(fields=["group", "client_key"], name="pickups_foreign_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.on}"


class StreamPause(GroupScoped):
    """A stream that is not collected until a clean trial."""

    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="pauses")
    reason = models.CharField(max_length=200)
    paused_at = models.DateTimeField()
    paused_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta(GroupScoped.Meta):
        ordering = ["paused_at", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("stream", "paused_by", "ended_by"),
            models.UniqueConstraint(
                fields=["stream"],
                name="pickups_pause_one_open",
                condition=models.Q(ended_at=None),
            ),
        ]

    def __str__(self) -> str:
        return f"pause of {self.stream_id}"
