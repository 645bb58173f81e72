"""A rehearsal that somebody asked for, and how far each policy has come in it."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member

MOST_DAYS = 366


class RehearsalState(models.TextChoices):
    """Where a rehearsal is."""

    GOING_ON = "going_on", _("going on")
    DONE = "done", _("done")
    STOPPED = "stopped", _("stopped")


class Rehearsal(GroupScoped):
    """`start`: the neighbourhood it starts from, the change made, packed when it was asked for,
    so that what happens since changes nothing. `figures` by policy, the bound, weeks.
    `times_begun` is more than one after an update of the service that it could not outlive."""

    name = models.CharField(max_length=120)
    first_on = models.DateField()
    days = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(MOST_DAYS)]
    )
    seed = models.PositiveIntegerField(default=1)
    start = models.BinaryField()
    state = models.CharField(
        max_length=10, choices=RehearsalState.choices, default=RehearsalState.GOING_ON
    )
    times_begun = models.PositiveSmallIntegerField(default=1)
    figures = models.JSONField(default=dict, blank=True)
    asked_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["-asked_at", "-id"]
        constraints = [*GroupScoped.Meta.constraints, *same_group("asked_by")]

    def __str__(self) -> str:
        return self.name


class RehearsedStretch(GroupScoped):
    """One policy's year as far as it has come; `until_day` is the next day to live."""

    rehearsal = models.ForeignKey(Rehearsal, on_delete=models.CASCADE, related_name="stretches")
    policy = models.CharField(max_length=10)
    until_day = models.PositiveSmallIntegerField(default=0)
    packed = models.BinaryField(default=bytes)

    class Meta(GroupScoped.Meta):
        ordering = ["policy"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("rehearsal"),
            models.UniqueConstraint(fields=["rehearsal", "policy"], name="rehearsal_stretch_once"),
        ]

    def __str__(self) -> str:
        return f"{self.policy} until day {self.until_day}"
