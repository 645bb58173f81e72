"""Who gives organic waste, what they regularly have, and what they say of one day."""

from __future__ import annotations

from datetime import date

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.feedstock.models import Material
from apps.groups.models import Coded, GroupScoped, same_group
from apps.kernel.quantities import MAX_FACT
from apps.ledger.models import Account
from apps.people.models import Member
from apps.places.models import Place


class SourceKind(models.TextChoices):
    """What sort of giver it is; new streams borrow the average of their kind."""

    STALL = "stall", _("market stall")
    CANTEEN = "canteen", _("canteen")
    SHOP = "shop", _("shop")
    HOUSEHOLD = "household", _("household")
    GARDEN = "garden", _("garden")


class Source(Coded):
    """A stall, canteen, shop, household or garden that gives organic waste."""

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=SourceKind.choices)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="sources")
    contact = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="sources"
    )
    account = models.OneToOneField(Account, on_delete=models.PROTECT, related_name="source")
    max_homes_per_day = models.PositiveSmallIntegerField(
        default=2, validators=[MinValueValidator(1), MaxValueValidator(20)]
    )
    is_active = models.BooleanField(default=True)

    class Meta(Coded.Meta):
        constraints = [*Coded.Meta.constraints, *same_group("place", "contact", "account")]


class Stream(Coded):
    """One material a source regularly has: typical grams on each weekday, and their spread."""

    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="streams")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="streams")
    monday_g = models.PositiveIntegerField(default=0)
    tuesday_g = models.PositiveIntegerField(default=0)
    wednesday_g = models.PositiveIntegerField(default=0)
    thursday_g = models.PositiveIntegerField(default=0)
    friday_g = models.PositiveIntegerField(default=0)
    saturday_g = models.PositiveIntegerField(default=0)
    sunday_g = models.PositiveIntegerField(default=0)
    spread_percent = models.PositiveSmallIntegerField(
        default=30, validators=[MaxValueValidator(200)]
    )
    kept_days = models.PositiveSmallIntegerField(
        default=0,
        validators=[MaxValueValidator(14)],
        help_text=_("Days the source keeps it after the day it arises; 0: that day only."),
    )
    feed_within_days = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MaxValueValidator(30)],
        help_text=_("Days until it must be fed; empty: by material and temperature."),
    )
    is_divisible = models.BooleanField(default=True)
    is_active = models.BooleanField(default=True)
    learnt_since_on = models.DateField(
        null=True,
        blank=True,
        help_text=_("It changed hands or goods on this day: nothing older is learnt from."),
    )

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            *same_group("source", "material"),
            models.CheckConstraint(
                name="supply_stream_amounts",
                condition=models.Q(
                    monday_g__lte=MAX_FACT,
                    tuesday_g__lte=MAX_FACT,
                    wednesday_g__lte=MAX_FACT,
                    thursday_g__lte=MAX_FACT,
                    friday_g__lte=MAX_FACT,
                    saturday_g__lte=MAX_FACT,
                    sunday_g__lte=MAX_FACT,
                ),
            ),
        ]

    @property
    def weekday_g(self) -> tuple[int, ...]:
        """Typical grams, Monday first."""
        return (
            self.monday_g,
            self.tuesday_g,
            self.wednesday_g,
            self.thursday_g,
            self.friday_g,
            self.saturday_g,
            self.sunday_g,
        )

    def typical_g(self, on: date) -> int:
        """Typical grams on a day."""
        return self.weekday_g[on.weekday()]


class Offer(GroupScoped):
    """What a source says it has on one day; it replaces the forecast. Zero: nothing today."""

    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="offers")
    on = models.DateField()
    amount_g = models.PositiveIntegerField()
    said_at = models.DateTimeField()
    said_by = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta(GroupScoped.Meta):
        ordering = ["on"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("stream", "said_by"),
            models.UniqueConstraint(fields=["stream", "on"], name="supply_offer_once"),
            models.CheckConstraint(
                name="supply_offer_amount", condition=models.Q(amount_g__lte=MAX_FACT)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.on}: {self.amount_g} g"


class Destination(Coded):
    """Where what is left over goes, such as a compost place, with its daily capacity."""

    name = models.CharField(max_length=120)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="destinations")
    account = models.OneToOneField(Account, on_delete=models.PROTECT, related_name="destination")
    capacity_g_per_day = models.PositiveIntegerField()
    is_active = models.BooleanField(default=True)

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            *same_group("place", "account"),
            models.CheckConstraint(
                name="supply_destination_capacity",
                condition=models.Q(capacity_g_per_day__lte=MAX_FACT),
            ),
        ]
