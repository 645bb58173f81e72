"""A week as seven boxes, each with its pails."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.web.charts import svg

WIDTH, HEIGHT = 360.0, 92.0
PAIL_G = 10_000
"""Grams drawn as one pail. A 16 L pail of wet waste is about 15 kg; ten is a handy count."""
MOST_PAILS = 4


@dataclass(frozen=True, slots=True)
class WeekDay:
    """One day: its short name, its grams, and whether it is today."""

    name: str
    amount_g: int
    is_today: bool = False


def draw_week_strip(days: Sequence[WeekDay], *, says: str) -> SafeString:
    """A box a day with a pail for each begun ten kilograms (four at most, then a plus)."""
    step = WIDTH / max(1, len(days))
    parts: list[SafeString] = []
    for index, day in enumerate(days):
        x = index * step
        parts.append(
            svg.rect(
                x + 2, 24, step - 4, HEIGHT - 26, "c-enamel" if day.is_today else "c-box", rx=6
            )
        )
        parts.append(
            svg.text(x + step / 2, 17, day.name, size=16, anchor="middle",
                     class_=None if day.is_today else "soft")
        )  # fmt: skip
        pails = min(MOST_PAILS, -(-day.amount_g // PAIL_G))
        for pail in range(pails):
            column, level = pail % 2, pail // 2
            parts.append(
                _pail(
                    x + step / 2 + (column * 22 - (11 if pails > 1 else 0)),
                    HEIGHT - 10 - level * 28,
                )
            )
        if -(-day.amount_g // PAIL_G) > MOST_PAILS:
            parts.append(svg.text(x + step - 8, 40, "+", size=20, anchor="end"))
    return svg.picture(WIDTH, HEIGHT, parts, kind="strip", says=says)


def _pail(middle: float, floor: float) -> SafeString:
    m, f = svg.shown(middle), svg.shown(floor)
    return svg.group(
        [
            svg.element("path", d=f"M{m} {f}m-9 -18h18l-3 18h-12z", class_="c-past"),
            svg.element("path", d=f"M{m} {f}m-8 -18a8 7 0 0 1 16 0", class_="c-handle"),
        ]
    )
