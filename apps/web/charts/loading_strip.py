"""Loading of the last days and the next against each day's maximum and target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.web.charts import svg

WIDTH, HEIGHT = 360.0, 160.0
LEFT, TOP, BOTTOM = 2.0, 24.0, 28.0
LETTER = 16.0


@dataclass(frozen=True, slots=True)
class LoadedDay:
    """One day: what went in or is planned [g VS], its maximum and target [g VS].

    None: not known. `is_planned`: today or later.
    """

    on: date
    vs_g: int | None
    max_vs_g: int | None
    target_vs_g: int | None = None
    is_planned: bool = False

    @property
    def is_over(self) -> bool:
        """Whether it passes its maximum."""
        return self.vs_g is not None and self.max_vs_g is not None and self.vs_g > self.max_vs_g


def draw_loading_strip(days: Sequence[LoadedDay], *, letters: str, says: str) -> SafeString:
    """A bar a day: full colour for what went in, pale with an outline for what is planned.

    The red step line is the maximum, the dashed one the target; a bar above its maximum is red
    and carries a cross. `letters` names the weekdays, Monday first.
    """
    if not days:
        return svg.picture(WIDTH, 20, [], kind="strip", says=says)
    top_g = max(1, *(day.vs_g or 0 for day in days), *(day.max_vs_g or 0 for day in days))
    step = (WIDTH - 2 * LEFT) / len(days)
    floor = HEIGHT - BOTTOM

    def tall(value_g: int) -> float:
        return (floor - TOP) * value_g / top_g

    parts: list[SafeString] = []
    for index, day in enumerate(days):
        x = LEFT + index * step
        parts += _bar(x, step, floor, tall(day.vs_g or 0), day)
        letter, class_ = letters[day.on.weekday()], None if day.is_planned else "soft"
        parts.append(
            svg.text(x + step / 2, floor + 17, letter, size=LETTER, anchor="middle", class_=class_)
        )
    for values, class_ in (
        ([day.target_vs_g for day in days], "c-dash"),
        ([day.max_vs_g for day in days], "c-limit"),
    ):
        heights = [None if value is None else floor - tall(value) for value in values]
        parts.append(_steps(heights, step, class_))
    parts.append(svg.line(LEFT, floor, WIDTH - LEFT, floor, "c-line"))
    parts += _today(days, step)
    return svg.picture(WIDTH, HEIGHT, parts, kind="strip", says=says)


def _bar(x: float, step: float, floor: float, tall: float, day: LoadedDay) -> list[SafeString]:
    if not day.vs_g:
        return []
    class_ = "c-over" if day.is_over else "c-next" if day.is_planned else "c-past"
    tall = max(2.0, tall)
    bar = svg.rect(x + 2, floor - tall, step - 4, tall, class_, rx=2)
    if not day.is_over:
        return [bar]
    left, top = svg.shown(x + step / 2 - 5), svg.shown(floor - tall - 13)
    return [bar, svg.element("path", d=f"M{left} {top}l10 10m0 -10l-10 10", class_="c-limit")]


def _steps(values: Sequence[float | None], step: float, class_: str) -> SafeString:
    """A step line over the days; a day without a value breaks it. `values` are heights."""
    path = ""
    pen_down = False
    for index, y in enumerate(values):
        if y is not None:
            x = LEFT + index * step
            path += f"{'L' if pen_down else 'M'}{svg.shown(x)} {svg.shown(y)}H{svg.shown(x + step)}"
        pen_down = y is not None
    return svg.element("path", d=path, class_=class_) if path else svg.joined([])


def _today(days: Sequence[LoadedDay], step: float) -> list[SafeString]:
    first = next((index for index, day in enumerate(days) if day.is_planned), None)
    if first is None or first == 0:
        return []
    x = LEFT + first * step
    return [
        svg.line(x, 6, x, HEIGHT - BOTTOM + 4, "c-line"),
        svg.text(x - 5, 15, _("went in"), size=LETTER, anchor="end", class_="soft"),
        svg.text(x + 5, 15, _("planned"), size=LETTER),
    ]
