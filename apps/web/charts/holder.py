"""The gas of a digester without a drum: pushing slurry down under a dome, or filling a bag."""

from __future__ import annotations

from django.utils.safestring import SafeString

from apps.web.charts import svg

WIDTH, HEIGHT = 120.0, 140.0
DEEP = 60.0


def draw_dome(fill_ppm: int | None, *, says: str) -> SafeString:
    """Gas under a dome at `fill_ppm` of its room; None, not known, draws it with a dashed rim."""
    level = 30 + DEEP * _share(fill_ppm)
    parts = [
        svg.element("path", d="M16 130V74q0 -48 44 -48t44 48V130z", class_="c-yolk"),
        svg.rect(16, level, 88, 130 - level, "c-rim"),
        svg.element(
            "path", d="M16 130V74q0 -48 44 -48t44 48V130z",
            class_="c-rim-line" if fill_ppm is not None else "c-dash",
        ),
        svg.line(60, 14, 60, 26, "c-line"),
        svg.line(8, 30 + DEEP, 16, 30 + DEEP, "c-limit"),
    ]  # fmt: skip
    return svg.picture(WIDTH, HEIGHT, parts, kind="drum", says=says)


def draw_bag(fill_ppm: int | None, *, says: str) -> SafeString:
    """A bag over its slurry, swollen by the gas in it."""
    top = 92 - DEEP * _share(fill_ppm)
    swollen = f"M12 96Q12 {svg.shown(top)} 60 {svg.shown(top)}T108 96z"
    parts = [
        svg.element(
            "path", d=swollen, class_="c-yolk" if fill_ppm is not None else "c-dash"
        ),
        svg.rect(12, 96, 96, 34, "c-rim", rx=8),
        svg.line(104, 92 - DEEP, 112, 92 - DEEP, "c-limit"),
    ]  # fmt: skip
    return svg.picture(WIDTH, HEIGHT, parts, kind="drum", says=says)


def _share(fill_ppm: int | None) -> float:
    return min(1.0, max(0.0, (fill_ppm or 0) / 1_000_000))
