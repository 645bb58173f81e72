"""Who is asked first when a home does not come to a source that others often did not reach."""

from __future__ import annotations

from django.db import models

from apps.digesters.models import Digester
from apps.groups.models import GroupScoped, same_group
from apps.kernel.quantities import in_thousands
from apps.planning.models.plan import Plan
from apps.supply.models import Source


class SecondHome(GroupScoped):
    """`digester` stands by for what `instead_of` is to fetch at `source` on a day of the plan."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="second_homes")
    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="+")
    instead_of = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="+")
    digester = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="+")
    on = models.DateField()
    amount_g = models.PositiveIntegerField()
    distance_m = models.PositiveIntegerField()

    class Meta(GroupScoped.Meta):
        ordering = ["on", "source__code", "instead_of__code"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("plan", "source", "instead_of", "digester"),
            models.UniqueConstraint(
                fields=["plan", "source", "instead_of", "on"], name="planning_secondhome_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.digester_id} for {self.instead_of_id} on {self.on}"

    @property
    def amount_kg(self) -> str:
        """Kilograms, in plain digits."""
        return in_thousands(self.amount_g)
