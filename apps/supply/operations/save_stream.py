"""Make a stream of a source or change one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.db import transaction

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.groups.operations.save_row import check_row
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.supply.models import Source, Stream

WEEKDAY_FIELDS = (
    "monday_g",
    "tuesday_g",
    "wednesday_g",
    "thursday_g",
    "friday_g",
    "saturday_g",
    "sunday_g",
)


class WrongWeek(Refused):
    """A week has seven days."""

    code = "wrong_week"


@transaction.atomic
def save_stream(
    group: Group,
    *,
    code: str,
    source: Source,
    material: Material,
    weekday_g: Sequence[int],
    spread_percent: int = 30,
    kept_days: int = 0,
    feed_within_days: int | None = None,
    is_divisible: bool = True,
    is_active: bool = True,
    learnt_since_on: date | None = None,
) -> Stream:
    """Make or change the stream `code`; `weekday_g` are typical grams, Monday first. From
    `learnt_since_on`, when it changed hands or goods, its past counts; older weights do not."""
    if len(weekday_g) != len(WEEKDAY_FIELDS):
        raise WrongWeek(
            gettext_noop("%(given)s amounts were given; give seven, Monday first, 0 for none."),
            field="weekday_g",
            figures={"given": len(weekday_g)},
        )
    stream = Stream.objects.of(group).filter(code=code).first() or Stream(group=group, code=code)
    stream.source = source
    stream.material = material
    for name, amount_g in zip(WEEKDAY_FIELDS, weekday_g, strict=True):
        setattr(stream, name, amount_g)
    stream.spread_percent = spread_percent
    stream.kept_days = kept_days
    stream.feed_within_days = feed_within_days
    stream.is_divisible = is_divisible
    stream.is_active = is_active
    stream.learnt_since_on = learnt_since_on
    check_row(stream)
    stream.save()
    return stream
