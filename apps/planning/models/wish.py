"""What the assigner asks of the next plan."""

from __future__ import annotations

from django.db import models

from apps.digesters.models import Digester
from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.supply.models import Source, Stream


class Pin(GroupScoped):
    """This batch to this digester on this day; without an amount, the plan chooses it."""

    stream = models.ForeignKey(Stream, on_delete=models.CASCADE, related_name="pins")
    batch_on = models.DateField()
    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="pins")
    on = models.DateField()
    amount_g = models.PositiveIntegerField(null=True, blank=True)
    asked_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField()

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("stream", "digester", "asked_by"),
            models.UniqueConstraint(
                fields=["stream", "batch_on", "digester", "on"], name="planning_pin_once"
            ),
        ]

    def __str__(self) -> str:
        return f"pin {self.on}"


class Ban(GroupScoped):
    """Never this source to this digester, on one day or, without a day, on any."""

    source = models.ForeignKey(Source, on_delete=models.CASCADE, related_name="bans")
    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="bans")
    on = models.DateField(null=True, blank=True)
    asked_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField()

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("source", "digester", "asked_by"),
        ]

    def __str__(self) -> str:
        return "ban"


class SteadyPair(GroupScoped):
    """A source and a digester that like to stay together."""

    source = models.ForeignKey(Source, on_delete=models.CASCADE, related_name="steady_pairs")
    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="steady_pairs")

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("source", "digester"),
            models.UniqueConstraint(fields=["source", "digester"], name="planning_steadypair_once"),
        ]

    def __str__(self) -> str:
        return "steady pair"
