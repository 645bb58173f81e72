"""Gas foreseen between looks at the holder, with its band, and what came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.web.charts import svg

WIDTH, HEIGHT = 360.0, 150.0
LEFT, TOP, BOTTOM = 4.0, 10.0, 10.0
DOT = 4.0


@dataclass(frozen=True, slots=True)
class Foreseen:
    """One look: 80 % band and middle foreseen, and what came, all in one unit."""

    low: float
    middle: float
    high: float
    came: float
    is_within: bool


def draw_foreseen_strip(looks: Sequence[Foreseen], *, says: str) -> SafeString:
    """A box a look for the band with a line at its middle; a dot for what came, red outside."""
    if not looks:
        return svg.picture(WIDTH, 20, [], kind="strip", says=says)
    top = max(max(look.high, look.came) for look in looks) or 1.0
    floor = HEIGHT - BOTTOM
    step = (WIDTH - 2 * LEFT) / len(looks)
    wide = min(step * 0.7, 22.0)

    def y(value: float) -> float:
        return floor - (floor - TOP) * value / top

    parts = [svg.line(LEFT, floor, WIDTH - LEFT, floor, "c-line")]
    for index, look in enumerate(looks):
        middle = LEFT + (index + 0.5) * step
        left = middle - wide / 2
        tall = max(1.0, y(look.low) - y(look.high))
        parts += [
            svg.rect(left, y(look.high), wide, tall, "c-next"),
            svg.line(left, y(look.middle), left + wide, y(look.middle), "c-rim-line"),
            svg.element(
                "circle",
                cx=middle,
                cy=y(look.came),
                r=DOT,
                class_="c-past" if look.is_within else "c-over",
            ),
        ]
    return svg.picture(WIDTH, HEIGHT, parts, kind="strip", says=says)
