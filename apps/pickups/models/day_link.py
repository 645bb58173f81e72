"""A link to one person's page for one digester or source on one local day."""

from __future__ import annotations

from datetime import timedelta

from django.db import models

from apps.digesters.models import Digester
from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.supply.models import Source

DAY_LINK_LIFE = timedelta(hours=72)
"""After the end of its day."""


class DayLink(GroupScoped):
    """128 random bits, kept as a hash. It dies on reassignment, and then tells whom to ask."""

    token_hash = models.CharField(max_length=64, unique=True)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="day_links")
    digester = models.ForeignKey(
        Digester, null=True, on_delete=models.CASCADE, related_name="day_links"
    )
    source = models.ForeignKey(
        Source, null=True, on_delete=models.CASCADE, related_name="day_links"
    )
    on = models.DateField()
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("member", "digester", "source"),
            models.CheckConstraint(
                name="pickups_daylink_one_subject",
                condition=models.Q(digester=None, source__isnull=False)
                | models.Q(digester__isnull=False, source=None),
            ),
        ]

    def __str__(self) -> str:
        return f"link of {self.member_id} for {self.on}"
