"""A day's feed range: minimum, target and maximum, and how full the day is."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.web.charts import svg

WIDTH, HEIGHT = 320.0, 58.0
EDGE, BAR_TOP, BAR_TALL = 6.0, 10.0, 24.0


@dataclass(frozen=True, slots=True)
class FeedRange:
    """Figures of one digester-day in one unit; `planned` is the day's feed so far.

    `least` is a day's part of the seven-day minimum, 0 while it is suspended.
    """

    least: int
    target: int
    most: int
    planned: int


def draw_feed_bar(feed: FeedRange, *, marks: tuple[str, str], says: str) -> SafeString:
    """A trough filled up to what is planned; a thick line at the maximum, dashed at the target.

    `marks` are the words under target and maximum.
    """
    top = max(1, feed.most, feed.planned)
    room = WIDTH - 2 * EDGE

    def across(value: int) -> float:
        return EDGE + room * value / top

    over = feed.planned > feed.most
    parts = [
        svg.rect(EDGE, BAR_TOP, room, BAR_TALL, "c-back", rx=4),
        svg.rect(
            EDGE,
            BAR_TOP,
            across(feed.planned) - EDGE,
            BAR_TALL,
            "c-over" if over else "c-past",
            rx=4,
        ),
        svg.line(
            across(feed.most), BAR_TOP - 6, across(feed.most), BAR_TOP + BAR_TALL + 6, "c-limit"
        ),
    ]
    if feed.least:
        x = across(feed.least)
        parts.append(
            svg.element("path", d=f"M{svg.shown(x)} {svg.shown(BAR_TOP)}l-5 -8h10z", class_="c-ink")
        )
    if 0 < feed.target < feed.most:
        x = across(feed.target)
        parts.append(svg.line(x, BAR_TOP - 4, x, BAR_TOP + BAR_TALL + 4, "c-dash"))
        if x < WIDTH * 0.6:
            parts.append(svg.text(x, HEIGHT - 3, marks[0], size=15, anchor="middle", class_="soft"))
    at_end = across(feed.most) > WIDTH * 0.7
    parts.append(
        svg.text(
            across(feed.most), HEIGHT - 3, marks[1], size=15, anchor="end" if at_end else "start"
        )
    )
    return svg.picture(WIDTH, HEIGHT, parts, kind="bar", says=says)
