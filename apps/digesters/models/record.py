"""What people saw and decided at a digester. Rows are added, never edited."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.digesters.models.digester import Digester, StageName
from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member


class StageChange(GroupScoped):
    """A step in a digester's life, with the evidence for it."""

    digester = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="stage_changes")
    stage = models.CharField(max_length=12, choices=StageName.choices)
    since_on = models.DateField()
    evidence = models.JSONField(default=dict, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta(GroupScoped.Meta):
        ordering = ["since_on", "id"]
        constraints = [*GroupScoped.Meta.constraints, *same_group("digester", "recorded_by")]

    def __str__(self) -> str:
        return f"{self.stage} since {self.since_on}"


class ReadingKind(models.TextChoices):
    """What can be read at a digester, with the whole-number unit it is kept in."""

    DRUM_HEIGHT = "drum_height_mm", _("drum height")
    BURNER = "burner_min", _("burner minutes")
    PH = "ph_hundredths", _("pH strip")
    SLURRY_TEMPERATURE = "slurry_hundredths_c", _("slurry temperature")
    AIR_TEMPERATURE = "air_hundredths_c", _("air temperature")
    PRESSURE = "pressure_pa", _("gas pressure")
    FULLNESS = "fullness_quarters", _("holder fullness in quarters")
    FLAME = "flame", _("flame: 0 none, 1 weak or yellow, 2 steady blue")
    SOUR_SMELL = "sour_smell", _("sour smell: 0 no, 1 yes")
    GAS_CHECKED = (
        "gas_checked",
        _("looked for a leak, cold and a full drum: 0 one of them found, 1 none of them"),
    )
    FLARED = "flared_min", _("minutes of gas burnt off, not for cooking")
    VENTED = "vented_l", _("litres of gas let out unburnt")


class Reading(GroupScoped):
    """One reading, in the unit that its kind names; a wrong one is withdrawn, never edited."""

    digester = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="readings")
    kind = models.CharField(max_length=20, choices=ReadingKind.choices)
    value = models.IntegerField()
    taken_at = models.DateTimeField()
    on = models.DateField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    client_key = models.CharField(max_length=100)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["taken_at", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("digester", "recorded_by"),
            models.UniqueConstraint(fields=["group", "client_key"], name="digesters_reading_once"),
        ]
        indexes = [models.Index(fields=["digester", "on"])]

    def __str__(self) -> str:
        return f"{self.kind} {self.value}"


class LimitChange(GroupScoped):
    """A digester's own value for one limit. Tightening counts at once; loosening only after
    a second person has confirmed it."""

    digester = models.ForeignKey(Digester, on_delete=models.PROTECT, related_name="limit_changes")
    limit_id = models.CharField(max_length=40)
    value = models.DecimalField(max_digits=12, decimal_places=4)
    reason = models.CharField(max_length=200)
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    loosens = models.BooleanField()
    confirmed_at = models.DateTimeField(null=True, blank=True)
    confirmed_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["asked_at", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("digester", "asked_by", "confirmed_by"),
            models.CheckConstraint(
                name="digesters_limit_two_people",
                condition=models.Q(confirmed_by=None)
                | ~models.Q(confirmed_by=models.F("asked_by")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.limit_id} {self.value}"
