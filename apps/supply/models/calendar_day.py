"""Days unlike others that a group enters once: holidays, market closing days, festivals."""

from __future__ import annotations

from django.core.validators import MaxValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Coded
from apps.supply.core.day_effects import MOST_PERCENT, DayEffect
from apps.supply.models.source import SourceKind


class CalendarKind(models.TextChoices):
    """What sort of day it is; what it does stands in its own fields."""

    HOLIDAY = "holiday", _("holiday")
    MARKET_CLOSED = "market_closed", _("market closed")
    FESTIVAL = "festival", _("festival")


class CalendarDay(Coded):
    """First and last day, both included. `amount_percent` of a usual day's waste from sources
    of `source_kinds` (none: all); 0: they are shut, and nobody goes there."""

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=20, choices=CalendarKind.choices)
    first_on = models.DateField()
    last_on = models.DateField()
    is_yearly = models.BooleanField(default=False)
    amount_percent = models.PositiveSmallIntegerField(
        default=0, validators=[MaxValueValidator(MOST_PERCENT)]
    )
    source_kinds = models.JSONField(default=list, blank=True)

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            models.CheckConstraint(
                name="supply_calendarday_order",
                condition=models.Q(first_on__lte=models.F("last_on"))
                & models.Q(amount_percent__lte=MOST_PERCENT),
            ),
        ]

    def effect(self) -> DayEffect:
        """What it does, as the forecast reads it."""
        return DayEffect(
            self.first_on,
            self.last_on,
            self.amount_percent,
            frozenset(self.source_kinds),
            self.is_yearly,
        )

    def kinds_shown(self) -> list[str]:
        """Names of the kinds of source it is about; empty for all."""
        return [str(SourceKind(kind).label) for kind in self.source_kinds]
