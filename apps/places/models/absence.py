"""Days on which nobody is at a place: a household away, a stall shut."""

from __future__ import annotations

from django.db import models

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.places.models.place import Place


class Absence(GroupScoped):
    """First and last day away, both included; a keyholder can act meanwhile."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="absences")
    first_on = models.DateField()
    last_on = models.DateField()
    keyholder = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="keys_held"
    )
    note = models.CharField(max_length=120, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["first_on"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("place", "keyholder"),
            models.CheckConstraint(
                name="places_absence_order",
                condition=models.Q(first_on__lte=models.F("last_on")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first_on} – {self.last_on}"
