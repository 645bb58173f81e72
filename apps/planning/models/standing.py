"""What a source and a home have agreed for every week."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.planning.models.wish import Pin
from apps.supply.models import Stream


class Weekday(models.IntegerChoices):
    """As `date.weekday` counts."""

    MONDAY = 0, _("Monday")
    TUESDAY = 1, _("Tuesday")
    WEDNESDAY = 2, _("Wednesday")
    THURSDAY = 3, _("Thursday")
    FRIDAY = 4, _("Friday")
    SATURDAY = 5, _("Saturday")
    SUNDAY = 6, _("Sunday")


class Standing(GroupScoped):
    """Each `weekday` the stream's batch of that day goes to the digester; without an amount, as
    much as the plan chooses. It counts from `agreed_at` to `ended_at`."""

    stream = models.ForeignKey(Stream, on_delete=models.CASCADE, related_name="standings")
    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="standings")
    weekday = models.PositiveSmallIntegerField(choices=Weekday)
    amount_g = models.PositiveIntegerField(null=True)
    asked_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField()
    by_giver = models.BooleanField(default=False)
    by_taker = models.BooleanField(default=False)
    agreed_at = models.DateTimeField(null=True)
    agreed_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("stream", "digester", "asked_by", "agreed_by", "ended_by"),
            models.UniqueConstraint(
                fields=["stream", "digester", "weekday"],
                condition=models.Q(ended_at=None),
                name="planning_standing_one",
            ),
            models.CheckConstraint(
                name="planning_standing_weekday", condition=models.Q(weekday__lte=6)
            ),
        ]

    def __str__(self) -> str:
        return f"standing {self.weekday}"


class StandingDay(GroupScoped):
    """One day of it: pinned once, or why not (`reason`, in the language of whoever agreed)."""

    standing = models.ForeignKey(Standing, on_delete=models.CASCADE, related_name="day_rows")
    on = models.DateField()
    pin = models.ForeignKey(Pin, null=True, on_delete=models.SET_NULL, related_name="+")
    is_pinned = models.BooleanField()
    reason = models.TextField(blank=True)
    tried_at = models.DateTimeField()

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("standing", "pin"),
            models.UniqueConstraint(fields=["standing", "on"], name="planning_standingday_once"),
        ]

    def __str__(self) -> str:
        return f"standing day {self.on}"
