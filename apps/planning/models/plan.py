"""Dated daily feeds and assignments for the next days."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import GroupScoped, same_group
from apps.kernel.quantities import in_thousands
from apps.people.models import Member
from apps.supply.models import Destination, Source, Stream


class PlanStatus(models.TextChoices):
    """A plan is a draft, then announced, then superseded by the next announced one."""

    DRAFT = "draft", _("draft")
    ANNOUNCED = "announced", _("announced")
    SUPERSEDED = "superseded", _("superseded")


class Plan(GroupScoped):
    """One plan. `document` is the whole exported plan: what it was made from, what it says,
    how good it is and how to make it again."""

    version = models.PositiveIntegerField()
    status = models.CharField(max_length=10, choices=PlanStatus.choices, default=PlanStatus.DRAFT)
    starts_on = models.DateField()
    days = models.PositiveSmallIntegerField(default=7)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    announced_at = models.DateTimeField(null=True, blank=True)
    announced_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    input_hash = models.CharField(max_length=64)
    document = models.JSONField()

    class Meta(GroupScoped.Meta):
        ordering = ["-version"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("made_by", "announced_by"),
            models.UniqueConstraint(fields=["group", "version"], name="planning_plan_version"),
            models.UniqueConstraint(
                fields=["group"],
                name="planning_plan_one_announced",
                condition=models.Q(status="announced"),
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.version} ({self.status})"


class Assignment(GroupScoped):
    """One batch, or part of one, to one digester on one day."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="assignments")
    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="assignments")
    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="assignments")
    digester = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="assignments")
    batch_on = models.DateField()
    on = models.DateField()
    amount_g = models.PositiveIntegerField()
    most_g = models.PositiveIntegerField(null=True)
    """What may be taken when there is more; empty in plans that did not say so."""
    distance_m = models.PositiveIntegerField()
    from_min = models.PositiveSmallIntegerField()
    till_min = models.PositiveSmallIntegerField()

    class Meta(GroupScoped.Meta):
        ordering = ["on", "source__code", "digester__code", "stream__code", "batch_on"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("plan", "stream", "source", "digester"),
            models.UniqueConstraint(
                fields=["plan", "stream", "batch_on", "digester", "on"],
                name="planning_assignment_once",
            ),
            models.CheckConstraint(
                name="planning_assignment_amount", condition=models.Q(amount_g__gte=1)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_g} g on {self.on}"


class DailyFeed(GroupScoped):
    """What one digester should be fed on one day, with the maximum it was planned under. The
    database refuses a row whose feed, own kitchen waste included, passes that maximum."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="daily_feeds")
    digester = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="daily_feeds")
    on = models.DateField()
    feed_g = models.PositiveIntegerField()
    feed_vs_g = models.PositiveIntegerField()
    slurry_ml = models.PositiveIntegerField()
    water_ml = models.PositiveIntegerField()
    max_feed_g = models.PositiveIntegerField()
    max_vs_g = models.PositiveIntegerField()
    max_slurry_ml = models.PositiveIntegerField()
    target_vs_g = models.PositiveIntegerField()

    class Meta(GroupScoped.Meta):
        ordering = ["digester__code", "on"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("plan", "digester"),
            models.UniqueConstraint(
                fields=["plan", "digester", "on"], name="planning_dailyfeed_once"
            ),
            models.CheckConstraint(
                name="planning_dailyfeed_within_maximum",
                condition=models.Q(
                    feed_g__lte=models.F("max_feed_g"),
                    feed_vs_g__lte=models.F("max_vs_g"),
                    slurry_ml__lte=models.F("max_slurry_ml"),
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.feed_g} g on {self.on}"


class LeftOver(GroupScoped):
    """Grams of a batch that nobody takes: to a named destination, or staying with the source."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="left_overs")
    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="left_overs")
    batch_on = models.DateField()
    amount_g = models.PositiveIntegerField()
    destination = models.ForeignKey(
        Destination, null=True, blank=True, on_delete=models.PROTECT, related_name="left_overs"
    )
    reason = models.JSONField(default=dict, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["batch_on", "stream__code"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("plan", "stream", "destination"),
        ]

    def __str__(self) -> str:
        return f"{self.amount_g} g of {self.batch_on}"

    @property
    def amount_kg(self) -> str:
        """Kilograms, in plain digits."""
        return in_thousands(self.amount_g)
