"""Carrying out assignments: one source to one digester on one day, by a person."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import GroupScoped, same_group
from apps.kernel.quantities import MAX_FACT, in_thousands
from apps.people.models import Member
from apps.places.core.hours import clock
from apps.planning.models import Plan
from apps.supply.models import Source, Stream


class PickupState(models.TextChoices):
    """`core.life.State` in words."""

    ANNOUNCED = "announced", _("announced")
    ACCEPTED = "accepted", _("accepted")
    DECLINED = "declined", _("declined")
    COLLECTED = "collected", _("collected")
    DELIVERED = "delivered", _("delivered")
    FAILED = "failed", _("did not happen")
    WITHDRAWN = "withdrawn", _("withdrawn")


class Pickup(GroupScoped):
    """Keeps its identity across plans by (source, digester, day). A change of amounts or hours
    raises `revision`, so that an answer to an older one is known for what it is."""

    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="pickups")
    digester = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="pickups")
    on = models.DateField()
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="pickups")
    fetcher = models.ForeignKey(
        Member, null=True, on_delete=models.SET_NULL, related_name="pickups"
    )
    state = models.CharField(
        max_length=10, choices=PickupState.choices, default=PickupState.ANNOUNCED
    )
    revision = models.PositiveIntegerField(default=1)
    from_min = models.PositiveSmallIntegerField()
    till_min = models.PositiveSmallIntegerField()
    giver_weight_g = models.PositiveIntegerField(null=True)
    late_till_min = models.PositiveSmallIntegerField(null=True)
    """Whoever fetches said that they come by then, later than `till_min`."""
    contested_at = models.DateTimeField(null=True)
    """When one side said that the weight is wrong; empty once it was settled."""
    changed_at = models.DateTimeField()

    class Meta(GroupScoped.Meta):
        ordering = ["on", "from_min", "source__code", "digester__code"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("source", "digester", "plan", "fetcher"),
            models.UniqueConstraint(
                fields=["source", "digester", "on"], name="pickups_pickup_once_a_day"
            ),
        ]
        indexes = [models.Index(fields=["group", "on", "state"])]

    def __str__(self) -> str:
        return f"{self.source_id}→{self.digester_id} {self.on}"

    @property
    def from_clock(self) -> str:
        """When it may begin, as a clock shows it."""
        return clock(self.from_min)

    @property
    def till_clock(self) -> str:
        """When it must be over."""
        return clock(self.till_min)

    @property
    def most_g(self) -> int:
        """What may be taken of all lines when there is more than planned."""
        return sum(line.most_g or line.planned_g for line in self.lines.all())

    @property
    def late_clock(self) -> str:
        """By when whoever is late said to come; empty when nobody is."""
        return clock(self.late_till_min) if self.late_till_min is not None else ""

    @property
    def expected_till_min(self) -> int:
        """Minutes after midnight by which it should be over."""
        return max(self.till_min, self.late_till_min or 0)


class PickupLine(GroupScoped):
    """One batch within a pickup. Weights are net grams; empty until somebody weighed."""

    pickup = models.ForeignKey(Pickup, on_delete=models.CASCADE, related_name="lines")
    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="pickup_lines")
    batch_on = models.DateField()
    planned_g = models.PositiveIntegerField()
    most_g = models.PositiveIntegerField(null=True)
    """What may be taken when there is more than planned; empty where the plan did not say so."""
    collected_g = models.PositiveIntegerField(null=True)
    delivered_g = models.PositiveIntegerField(null=True)

    class Meta(GroupScoped.Meta):
        ordering = ["stream__code", "batch_on"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("pickup", "stream"),
            models.UniqueConstraint(
                fields=["pickup", "stream", "batch_on"], name="pickups_line_once"
            ),
            models.CheckConstraint(
                name="pickups_line_amounts",
                condition=models.Q(planned_g__lte=MAX_FACT)
                & (models.Q(collected_g=None) | models.Q(collected_g__lte=MAX_FACT))
                & (models.Q(delivered_g=None) | models.Q(delivered_g__lte=MAX_FACT)),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.planned_g} g"

    @property
    def planned_kg(self) -> str:
        """Planned kilograms, in plain digits."""
        return in_thousands(self.planned_g)


class PickupEvent(GroupScoped):
    """One step somebody took; never edited. `client_key` makes a repeat harmless; `acted_for`
    is the person without a phone for whom a coordinator acted."""

    pickup = models.ForeignKey(Pickup, on_delete=models.PROTECT, related_name="events")
    revision = models.PositiveIntegerField()
    step = models.CharField(max_length=12)
    from_state = models.CharField(max_length=10)
    to_state = models.CharField(max_length=10)
    reason = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=200, blank=True)
    happened_at = models.DateTimeField()
    by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    acted_for = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    client_key = models.CharField(max_length=100)

    class Meta(GroupScoped.Meta):
        ordering = ["id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("pickup", "by", "acted_for"),
            models.UniqueConstraint(fields=["group", "client_key"], name="pickups_event_once"),
        ]

    def __str__(self) -> str:
        return f"{self.step} of {self.pickup_id}"
