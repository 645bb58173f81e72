"""A piece of OpenStreetMap that a group brought in for its streets."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member


class ExtractState(models.TextChoices):
    """Waiting to be read, read and used for every way, or refused with a reason."""

    WAITING = "waiting", _("waiting to be read")
    IN_USE = "in_use", _("in use")
    REFUSED = "refused", _("refused")


class StreetExtract(GroupScoped):
    """`raw` is the file until it has been read; `network` and `names` are what came of it
    (`pack_network`, `pack_names`). One at most is in use; the box is in degrees."""

    state = models.CharField(
        max_length=10, choices=ExtractState.choices, default=ExtractState.WAITING
    )
    file_name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    sent_at = models.DateTimeField()
    sent_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    read_at = models.DateTimeField(null=True, blank=True)
    raw = models.BinaryField(null=True, blank=True)
    network = models.BinaryField(null=True, blank=True)
    names = models.BinaryField(null=True, blank=True)
    walk_m = models.PositiveIntegerField(default=0)
    south = models.FloatField(default=0)
    west = models.FloatField(default=0)
    north = models.FloatField(default=0)
    east = models.FloatField(default=0)
    refusal = models.CharField(max_length=500, blank=True)
    """An English template; `refusal_figures` are its values."""
    refusal_figures = models.JSONField(default=dict, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["-sent_at", "-id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("sent_by"),
            models.UniqueConstraint(
                fields=["group"],
                name="places_streetextract_one_in_use",
                condition=models.Q(state="in_use"),
            ),
            models.CheckConstraint(
                name="places_streetextract_read",
                condition=~models.Q(state="in_use")
                | models.Q(network__isnull=False, names__isnull=False, read_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.file_name
