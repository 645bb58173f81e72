"""Building SVG safely: every value is escaped, geometry is in attributes, colour in classes.

The pages' content policy allows no inline style, so nothing here writes a `style` attribute.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe


def shown(value: float | int | str) -> str:
    """A coordinate as short as it can be, always with a dot."""
    if isinstance(value, float):
        text = f"{value:.1f}".rstrip("0").rstrip(".")
        return "0" if text == "-0" else text
    return str(value)


def element(
    tag: str, body: SafeString | str = "", **attributes: float | int | str | None
) -> SafeString:
    """One element. `class_` gives `class`, underscores become hyphens, None leaves out."""
    pairs = [
        (name.rstrip("_").replace("_", "-"), shown(value))
        for name, value in attributes.items()
        if value is not None
    ]
    opening = format_html_join("", ' {}="{}"', pairs)
    return format_html("<{}{}>{}</{}>", tag, opening, body, tag)


def rect(x: float, y: float, width: float, height: float, class_: str, **more: float) -> SafeString:
    """A rectangle; one without area is left out."""
    if width <= 0 or height <= 0:
        return mark_safe("")
    return element("rect", x=x, y=y, width=width, height=height, class_=class_, **more)


def line(x1: float, y1: float, x2: float, y2: float, class_: str) -> SafeString:
    """A straight line."""
    return element("path", d=f"M{shown(x1)} {shown(y1)}L{shown(x2)} {shown(y2)}", class_=class_)


def text(
    x: float, y: float, words: str, *, size: float, anchor: str = "start", class_: str | None = None
) -> SafeString:
    """Words at a point; `anchor` is start, middle or end."""
    return element("text", words, x=x, y=y, font_size=size, text_anchor=anchor, class_=class_)


def group(parts: Iterable[SafeString], class_: str | None = None) -> SafeString:
    """Parts drawn one over the other."""
    return element("g", joined(parts), class_=class_)


def joined(parts: Iterable[SafeString]) -> SafeString:
    """Parts one after the other."""
    return mark_safe("".join(parts))


def picture(
    width: float, height: float, parts: Iterable[SafeString], *, kind: str, says: str
) -> SafeString:
    """A whole chart. `says` is its text for those who do not see it; `kind` its CSS class.

    Charts run from left to right in every language, as their time axis does.
    """
    return format_html(
        '<svg class="chart {}" viewBox="0 0 {} {}" role="img" aria-label="{}" direction="ltr">'
        "{}</svg>",
        kind,
        shown(width),
        shown(height),
        says,
        joined(parts),
    )
