"""Something that somebody, with or without an account, smelled or saw at a place."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.places.models import Place


class ConcernKind(models.TextChoices):
    """What was noticed."""

    GAS_SMELL = "gas_smell", _("smell of gas")
    BAD_SMELL = "bad_smell", _("bad smell")
    FLIES = "flies", _("flies")
    LEAK = "leak", _("slurry or water leaks")


class Concern(GroupScoped):
    """No personal data is asked for. A smell of gas stops the place's digesters until somebody
    named has tested them for tightness; the others have a deadline and a closing answer."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="concerns")
    kind = models.CharField(max_length=10, choices=ConcernKind.choices)
    note = models.CharField(max_length=200, blank=True)
    raised_at = models.DateTimeField()
    raised_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    deadline_at = models.DateTimeField()
    tightness_tested_by = models.CharField(max_length=120, blank=True)
    tightness_tested_on = models.DateField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    answer = models.CharField(max_length=300, blank=True)
    client_key = models.CharField(max_length=100)

    class Meta(GroupScoped.Meta):
        ordering = ["raised_at", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("place", "raised_by", "closed_by"),
            models.UniqueConstraint(fields=["group", "client_key"], name="digesters_concern_once"),
            models.CheckConstraint(
                name="digesters_concern_gas_tested",
                condition=~models.Q(kind="gas_smell")
                | models.Q(closed_at=None)
                | ~models.Q(tightness_tested_by=""),
            ),
        ]
        indexes = [models.Index(fields=["group", "closed_at"])]

    def __str__(self) -> str:
        return f"{self.kind} at {self.place_id}"
