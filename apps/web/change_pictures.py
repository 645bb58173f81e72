"""What a change does to each home, as a bar before and a bar after."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.planning.models import Plan
from apps.planning.queries.preview_change import Preview
from apps.web.charts.feed_bar import FeedRange, draw_feed_bar


@dataclass(frozen=True, slots=True)
class HomeBars:
    """One home: grams of volatile solids over the plan's days before and after the change."""

    name: str
    before_g: int
    after_g: int
    least_g: int
    target_g: int
    before: SafeString
    after: SafeString


def home_bars(preview: Preview, plan: Plan) -> list[HomeBars]:
    """Only homes whose feed changes. The bar's end is what the plan may add at most."""
    names = {row["code"]: row["name"] for row in plan.document["digesters"]}
    most: dict[str, int] = {}
    for row in plan.document["digester_days"]:
        most[row["digester"]] = most.get(row["digester"], 0) + row["plan_vs_g"]
    return [
        HomeBars(
            name=names.get(home.digester, home.digester),
            before_g=round(home.fed_vs_g),
            after_g=round(home.fed_vs_g_after),
            least_g=home.min_vs_g,
            target_g=home.target_vs_g,
            before=_bar(home.fed_vs_g, home.min_vs_g, home.target_vs_g, most[home.digester]),
            after=_bar(home.fed_vs_g_after, home.min_vs_g, home.target_vs_g, most[home.digester]),
        )
        for home in preview.consequences.homes
    ]


def _bar(fed_g: float, least_g: int, target_g: int, most_g: int) -> SafeString:
    feed = FeedRange(least_g, target_g, most_g, round(fed_g))
    says = _(
        "%(fed)s g of volatile solids; at least %(least)s, target %(target)s, most %(most)s"
    ) % {
        "fed": feed.planned,
        "least": least_g,
        "target": target_g,
        "most": most_g,
    }
    return draw_feed_bar(feed, marks=(_("target"), _("most")), says=says)
