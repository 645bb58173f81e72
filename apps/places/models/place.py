"""A point on the map, with an access note and opening hours."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Coded, GroupScoped, same_group


class Place(Coded):
    """`street` and the coordinates are private unless `is_public`; `area` is what others see."""

    name = models.CharField(max_length=120)
    area = models.CharField(max_length=80, blank=True)
    street = models.CharField(max_length=200, blank=True)
    access_note = models.CharField(max_length=200, blank=True)
    latitude = models.DecimalField(
        max_digits=9, decimal_places=6, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    longitude = models.DecimalField(
        max_digits=9,
        decimal_places=6,
        validators=[MinValueValidator(-180), MaxValueValidator(180)],
    )
    is_public = models.BooleanField(default=False)

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            models.CheckConstraint(
                name="places_place_on_earth",
                condition=models.Q(
                    latitude__gte=-90, latitude__lte=90, longitude__gte=-180, longitude__lte=180
                ),
            ),
        ]


class Weekday(models.IntegerChoices):
    """ISO order, Monday first, counted from 0 as `date.weekday` does."""

    MONDAY = 0, _("Monday")
    TUESDAY = 1, _("Tuesday")
    WEDNESDAY = 2, _("Wednesday")
    THURSDAY = 3, _("Thursday")
    FRIDAY = 4, _("Friday")
    SATURDAY = 5, _("Saturday")
    SUNDAY = 6, _("Sunday")


class OpeningHours(GroupScoped):
    """One window of one weekday, in minutes after local midnight. A place without any row
    is open at all hours; with rows, it is shut outside them."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="opening_hours")
    weekday = models.PositiveSmallIntegerField(choices=Weekday.choices)
    opens_min = models.PositiveSmallIntegerField()
    closes_min = models.PositiveSmallIntegerField()

    class Meta(GroupScoped.Meta):
        ordering = ["weekday", "opens_min"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("place"),
            models.CheckConstraint(
                name="places_openinghours_order",
                condition=models.Q(weekday__lte=6, closes_min__lte=1440)
                & models.Q(opens_min__lt=models.F("closes_min")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.weekday} {self.opens_min}–{self.closes_min}"
