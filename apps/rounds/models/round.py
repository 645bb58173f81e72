"""One carrier's tour of one day: which pickups, in which order, and what became of each stop."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.pickups.models import Pickup
from apps.rounds.models.carrier import Carrier


class RoundState(models.TextChoices):
    """Where a round is."""

    DRAFT = "draft", _("draft")
    ANNOUNCED = "announced", _("announced")
    OVER = "over", _("over")
    DROPPED = "dropped", _("dropped")


LIVE = (RoundState.DRAFT, RoundState.ANNOUNCED)
"""States in which a round holds its pickups; a pickup is in one such round at most."""


class StopSide(models.TextChoices):
    """`core.problem.Side` in words."""

    FETCH = "fetch", _("fetch")
    BRING = "bring", _("bring")


class StopState(models.TextChoices):
    """What became of a stop."""

    WAITING = "waiting", _("to do")
    DONE = "done", _("done")
    PROBLEM = "problem", _("did not work out")
    GONE = "gone", _("not needed any more")


class Round(GroupScoped):
    """`version` counts changes of the order. `left` are the pickups left out, with reasons;
    `document` is the answer as the verifier reads it; `figures` what pages show of the whole
    (seconds, metres, gram-metres, handling)."""

    carrier = models.ForeignKey(Carrier, on_delete=models.PROTECT, related_name="rounds")
    on = models.DateField()
    state = models.CharField(max_length=10, choices=RoundState.choices, default=RoundState.DRAFT)
    version = models.PositiveIntegerField(default=1)
    from_min = models.PositiveSmallIntegerField()
    till_min = models.PositiveSmallIntegerField()
    figures = models.JSONField(default=dict)
    left = models.JSONField(default=list)
    document = models.JSONField(default=dict)
    built_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    built_at = models.DateTimeField()
    announced_at = models.DateTimeField(null=True)

    class Meta(GroupScoped.Meta):
        ordering = ["on", "carrier__member__code", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("carrier", "built_by"),
            models.UniqueConstraint(
                fields=["carrier", "on"],
                name="rounds_round_one_live",
                condition=models.Q(state__in=["draft", "announced"]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.carrier_id} {self.on}"


class RoundStop(GroupScoped):
    """One end of one pickup. Times are seconds after local midnight; `load_g` is on the cart
    when leaving. `locked_s`: promised for that time. `short_code` stands on the printed sheet."""

    round = models.ForeignKey(Round, on_delete=models.CASCADE, related_name="stops")
    pickup = models.ForeignKey(Pickup, on_delete=models.PROTECT, related_name="round_stops")
    side = models.CharField(max_length=5, choices=StopSide.choices)
    number = models.PositiveSmallIntegerField()
    arrive_s = models.PositiveIntegerField()
    begin_s = models.PositiveIntegerField()
    leave_s = models.PositiveIntegerField()
    load_g = models.PositiveIntegerField()
    locked_s = models.PositiveIntegerField(null=True)
    short_code = models.CharField(max_length=4)
    state = models.CharField(max_length=8, choices=StopState.choices, default=StopState.WAITING)
    reason = models.CharField(max_length=40, blank=True)
    happened_at = models.DateTimeField(null=True)
    is_live = models.BooleanField(default=True)

    class Meta(GroupScoped.Meta):
        ordering = ["round_id", "number"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("round", "pickup"),
            models.UniqueConstraint(fields=["round", "pickup", "side"], name="rounds_stop_once"),
            models.UniqueConstraint(fields=["round", "short_code"], name="rounds_stop_code"),
            models.UniqueConstraint(
                fields=["pickup", "side"],
                name="rounds_stop_one_live",
                condition=models.Q(is_live=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.side} {self.pickup_id}"


class RoundEvent(GroupScoped):
    """What somebody said of a round or of one of its stops; never edited. `client_key` makes a
    repeat harmless."""

    round = models.ForeignKey(Round, on_delete=models.CASCADE, related_name="events")
    stop_uuid = models.UUIDField(null=True)
    step = models.CharField(max_length=12)
    reason = models.CharField(max_length=40, blank=True)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    client_key = models.CharField(max_length=100)

    class Meta(GroupScoped.Meta):
        ordering = ["id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("round", "by"),
            models.UniqueConstraint(fields=["group", "client_key"], name="rounds_event_once"),
        ]

    def __str__(self) -> str:
        return f"{self.step} of {self.round_id}"
