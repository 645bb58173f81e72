"""Numbered containers that waste is carried in, and what was seen of them."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import Coded, GroupScoped, same_group
from apps.people.models import Member
from apps.supply.models import Source

LARGEST_PAIL_ML = 16_000
"""16 L at 0.9 kg/L is 14.4 kg, under the 15 kg that a volunteer lifts (ISO 11228-1, from
memory)."""


class PailStep(models.TextChoices):
    """What was noted of a pail."""

    BROUGHT = "brought", _("brought")
    WASHED = "washed", _("washed")
    EXCHANGED = "exchanged", _("exchanged for a clean one")
    MISSING = "missing", _("missing")
    FOUND = "found", _("found again")
    RETIRED = "retired", _("taken out of use")


class Pail(Coded):
    """A container; `code` is the number painted on it. It stands at a source, at a digester, or
    with a person; where nobody has said, with its owner."""

    owner = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="pails"
    )
    tare_g = models.PositiveIntegerField(
        validators=[MinValueValidator(50), MaxValueValidator(5_000)]
    )
    volume_ml = models.PositiveIntegerField(
        default=10_000, validators=[MinValueValidator(500), MaxValueValidator(LARGEST_PAIL_ML)]
    )
    has_lid = models.BooleanField(default=True)
    at_source = models.ForeignKey(
        Source, null=True, blank=True, on_delete=models.SET_NULL, related_name="pails"
    )
    at_digester = models.ForeignKey(
        Digester, null=True, blank=True, on_delete=models.SET_NULL, related_name="pails"
    )
    is_missing = models.BooleanField(default=False)
    is_retired = models.BooleanField(default=False)
    washed_on = models.DateField(null=True, blank=True)
    seen_on = models.DateField(null=True, blank=True)

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            *same_group("owner", "at_source", "at_digester"),
            models.CheckConstraint(
                name="pickups_pail_one_place",
                condition=models.Q(at_source=None) | models.Q(at_digester=None),
            ),
        ]


class PailEvent(GroupScoped):
    """One thing noted of a pail; never edited."""

    pail = models.ForeignKey(Pail, on_delete=models.CASCADE, related_name="events")
    step = models.CharField(max_length=10, choices=PailStep.choices)
    on = models.DateField()
    noted_at = models.DateTimeField()
    noted_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    exchanged_for = models.ForeignKey(Pail, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta(GroupScoped.Meta):
        ordering = ["id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("pail", "noted_by", "exchanged_for"),
        ]

    def __str__(self) -> str:
        return f"{self.step} {self.on}"
