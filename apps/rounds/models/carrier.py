"""A person who carries for several homes, with what they carry it on and when."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import GroupScoped, same_group
from apps.ledger.models import Account
from apps.people.models import Member
from apps.places.models import Place

DAY_MIN = 1440
LARGEST_LOAD_G = 400_000


class Moving(models.TextChoices):
    """How somebody moves; names the speed and the streets open to it."""

    ON_FOOT = "on_foot", _("on foot with a hand-cart")
    CARGO_BIKE = "cargo_bike", _("by cargo bike")


class Carrier(GroupScoped):
    """Minutes after local midnight. `account` is what is on the cart at this moment; `rest_min`
    of rest begin between `rest_from_min` and `rest_till_min`."""

    member = models.OneToOneField(Member, on_delete=models.PROTECT, related_name="carrier")
    account = models.OneToOneField(Account, on_delete=models.PROTECT, related_name="carrier")
    moving = models.CharField(max_length=12, choices=Moving.choices, default=Moving.ON_FOOT)
    load_limit_g = models.PositiveIntegerField(
        default=60_000, validators=[MinValueValidator(1_000), MaxValueValidator(LARGEST_LOAD_G)]
    )
    from_min = models.PositiveSmallIntegerField(default=8 * 60)
    till_min = models.PositiveSmallIntegerField(default=13 * 60)
    start = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="rounds_start")
    end = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="rounds_end")
    rest_from_min = models.PositiveSmallIntegerField(null=True, blank=True)
    rest_till_min = models.PositiveSmallIntegerField(null=True, blank=True)
    rest_min = models.PositiveSmallIntegerField(null=True, blank=True)
    is_active = models.BooleanField(default=True)

    class Meta(GroupScoped.Meta):
        ordering = ["member__code"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("member", "account", "start", "end"),
            models.CheckConstraint(
                name="rounds_carrier_hours",
                condition=models.Q(till_min__lte=DAY_MIN)
                & models.Q(from_min__lt=models.F("till_min")),
            ),
            models.CheckConstraint(
                name="rounds_carrier_load",
                condition=models.Q(load_limit_g__gte=1_000, load_limit_g__lte=LARGEST_LOAD_G),
            ),
            models.CheckConstraint(
                name="rounds_carrier_rest",
                condition=models.Q(rest_from_min=None, rest_till_min=None, rest_min=None)
                | models.Q(rest_min__gte=1, rest_min__lte=240, rest_till_min__lte=DAY_MIN)
                & models.Q(rest_from_min__lte=models.F("rest_till_min")),
            ),
        ]

    def __str__(self) -> str:
        return self.member.name


class Avoided(GroupScoped):
    """A place this carrier does not go to: a dog, stairs, a quarrel."""

    carrier = models.ForeignKey(Carrier, on_delete=models.CASCADE, related_name="avoided")
    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="avoided_by")
    reason = models.CharField(max_length=120, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["place__code"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("carrier", "place"),
            models.UniqueConstraint(fields=["carrier", "place"], name="rounds_avoided_once"),
        ]

    def __str__(self) -> str:
        return f"{self.carrier_id} avoids {self.place_id}"
