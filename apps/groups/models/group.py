"""A residents' group: it owns its data, and nothing crosses groups."""

from __future__ import annotations

import uuid
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _


def validate_zone(name: str) -> None:
    """Refuse anything that is not an IANA time zone."""
    if name not in available_timezones():
        raise ValidationError(
            _("“%(name)s” is not a time zone. Use an IANA name such as Europe/Lisbon."),
            params={"name": name},
        )


class Group(models.Model):
    """One neighbourhood with its own people, places, digesters and rules."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=60, validators=[validate_zone])
    language = models.CharField(max_length=10, default="en")
    emergency_number = models.CharField(max_length=20, default="112")
    detour_ppm = models.PositiveIntegerField(
        default=1_300_000,
        validators=[MinValueValidator(1_000_000), MaxValueValidator(3_000_000)],
        help_text=_("Walking distance over straight distance, in millionths."),
    )
    reach_m = models.PositiveIntegerField(
        default=1200, validators=[MinValueValidator(50), MaxValueValidator(20_000)]
    )
    rota_limit_days = models.PositiveSmallIntegerField(
        default=14, validators=[MinValueValidator(2), MaxValueValidator(60)]
    )
    air_normals_c = models.JSONField(
        default=list,
        blank=True,
        help_text=_("Twelve monthly mean air temperatures, January first, in °C."),
    )
    animal_waste_rule = models.CharField(
        max_length=200,
        blank=True,
        help_text=_("The local rule that allows cooked and animal waste; empty: not accepted."),
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="groups_group_detour",
                condition=models.Q(detour_ppm__gte=1_000_000, detour_ppm__lte=3_000_000),
            ),
        ]

    def __str__(self) -> str:
        return self.name
