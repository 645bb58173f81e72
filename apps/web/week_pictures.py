"""A week's grams put into a strip of boxes, with its words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.web.charts.week_strip import WeekDay, draw_week_strip
from apps.web.templatetags.shown import day, kg


def draw_week(name: str, amounts: Sequence[tuple[date, int]], today: date) -> SafeString:
    """`amounts`: each day with its grams."""
    days = [WeekDay(date_format(on, "D"), amount_g, on == today) for on, amount_g in amounts]
    told = ", ".join(f"{day(on)}: {kg(amount_g)}" for on, amount_g in amounts if amount_g)
    says = _("Week of %(name)s. %(days)s") % {"name": name, "days": told or _("nothing")}
    return draw_week_strip(days, says=says)
