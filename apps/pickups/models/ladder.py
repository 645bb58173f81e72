"""When somebody is reminded, and who steps in, while a pickup has not been fetched."""

from __future__ import annotations

from django.core.validators import MaxValueValidator
from django.db import models

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member

MOST_MIN = 24 * 60


def _minutes(usual: int) -> models.PositiveSmallIntegerField:
    return models.PositiveSmallIntegerField(default=usual, validators=[MaxValueValidator(MOST_MIN)])


class Ladder(GroupScoped):
    """A group's own times, all in minutes before the end of a pickup's hours; a group without a
    row has these defaults, which are ours."""

    reminder_min = _minutes(120)
    second_reminder_min = _minutes(60)
    standby_min = _minutes(30)
    coordinator_min = _minutes(0)

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            models.UniqueConstraint(fields=["group"], name="pickups_ladder_one"),
            models.CheckConstraint(
                name="pickups_ladder_order",
                condition=models.Q(
                    reminder_min__gte=models.F("second_reminder_min"),
                    second_reminder_min__gte=models.F("standby_min"),
                    standby_min__gte=models.F("coordinator_min"),
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"ladder of {self.group_id}"


class Standby(GroupScoped):
    """Somebody who can step in when nobody fetches."""

    member = models.OneToOneField(Member, on_delete=models.CASCADE, related_name="standby")
    since_at = models.DateTimeField()

    class Meta(GroupScoped.Meta):
        constraints = [*GroupScoped.Meta.constraints, *same_group("member")]

    def __str__(self) -> str:
        return f"standby {self.member_id}"
