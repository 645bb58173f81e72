"""A digester with its drum, standing as high as its gas lifts it."""

from __future__ import annotations

from django.utils.safestring import SafeString

from apps.web.charts import svg

WIDTH, HEIGHT = 120.0, 140.0
RISE = 44.0


def draw_drum(fill_ppm: int | None, *, says: str) -> SafeString:
    """The drum at `fill_ppm` of its gas room; None, not known, draws it with a dashed rim."""
    known = fill_ppm is not None
    share = min(1.0, max(0.0, (fill_ppm or 0) / 1_000_000))
    top = 62 - RISE * share
    parts = [
        svg.rect(24, top, 72, 118 - top, "c-yolk", rx=8),
        svg.element(
            "path", d=f"M24 118V{svg.shown(top + 8)}q0 -8 8 -8h56q8 0 8 8V118",
            class_="c-rim-line" if known else "c-dash",
        ),
        svg.element("path", d="M8 70h104v58q0 8 -8 8H16q-8 0 -8 -8z", class_="c-rim"),
        svg.line(104, 62 - RISE, 112, 62 - RISE, "c-limit"),
        svg.line(108, 62 - RISE, 108, 66, "c-line"),
    ]  # fmt: skip
    return svg.picture(WIDTH, HEIGHT, parts, kind="drum", says=says)
