"""The board's figures put into pictures, each with its words for those who do not see it."""

from __future__ import annotations

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.planning.queries.digester_board import BoardRow
from apps.web.charts.feed_bar import FeedRange, draw_feed_bar
from apps.web.charts.loading_strip import LoadedDay, draw_loading_strip


def draw_row_strip(row: BoardRow) -> SafeString:
    """Fourteen days back and seven ahead against their maxima."""
    days = [
        LoadedDay(day.on, day.vs_g, day.max_vs_g, day.target_vs_g, day.is_planned)
        for day in row.days
    ]
    over = sum(day.is_over for day in days)
    says = _(
        "Loading of %(name)s: 14 days back, 7 ahead. Days above the maximum: %(over)s. "
        "The table below has the figures."
    ) % {"name": row.digester.name, "over": over}
    # Translators: first letters of the weekdays, Monday first.
    return draw_loading_strip(days, letters=_("MTWTFSS"), says=says)


def draw_row_bar(row: BoardRow) -> SafeString:
    """Today's feed range in grams of volatile solids."""
    planned = row.planned_today.feed_vs_g if row.planned_today else 0
    feed = FeedRange(row.today.min_vs_g, row.today.target_vs_g, row.today.max_vs_g, planned)
    says = _(
        "Today %(planned)s g of volatile solids are planned. "
        "Target %(target)s g, at most %(most)s g."
    ) % {"planned": planned, "target": feed.target, "most": feed.most}
    return draw_feed_bar(feed, marks=(_("target"), _("most")), says=says)
