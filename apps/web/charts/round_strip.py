"""A round as a strip of time: when somebody walks, works at a stop, waits or rests, with what is
on the cart against its limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.web.charts import svg

WIDE, TALL = 720, 150
EDGE, TOP, BASE = 14, 26, 110
HOUR_S = 3600


@dataclass(frozen=True, slots=True)
class StripStop:
    """Seconds after midnight; `load_g` when leaving."""

    number: int
    arrive_s: int
    begin_s: int
    leave_s: int
    load_g: int
    is_locked: bool = False
    is_over: bool = False


def draw_round(
    stops: Sequence[StripStop],
    *,
    depart_s: int,
    back_s: int,
    limit_g: int,
    rests: Sequence[tuple[int, int]] = (),
    says: str,
) -> SafeString:
    """`rests`: beginning and length. The steps are the load, the line above them the limit."""
    span_s = max(1, back_s - depart_s)

    def across(at_s: int) -> float:
        return EDGE + (WIDE - 2 * EDGE) * min(max(at_s - depart_s, 0), span_s) / span_s

    def down(load_g: int) -> float:
        return BASE - (BASE - TOP) * min(load_g / max(1, limit_g), 1)

    parts = [svg.rect(EDGE, TOP, WIDE - 2 * EDGE, BASE - TOP, "c-back")]
    load_g, at_s = 0, depart_s
    for stop in stops:
        parts.append(_step(across(at_s), across(stop.begin_s), down(load_g)))
        load_g, at_s = stop.load_g, stop.begin_s
    parts.append(_step(across(at_s), across(back_s), down(load_g)))
    parts.append(svg.line(EDGE, TOP, WIDE - EDGE, TOP, "c-limit"))
    parts += [
        svg.rect(across(at), BASE - 8, across(at + length_s) - across(at), 8, "c-leaf")
        for at, length_s in rests
    ]
    last = -100.0
    for stop in stops:
        x = across(stop.begin_s)
        parts.append(svg.line(x, TOP, x, BASE, "c-pin" if stop.is_locked else "c-tick"))
        if x - last >= 20:
            parts.append(svg.text(x, BASE + 18, str(stop.number), size=16, anchor="middle"))
            last = x
    first_hour = -(-depart_s // HOUR_S)
    for hour in range(first_hour, back_s // HOUR_S + 1):
        x = across(hour * HOUR_S)
        anchor = "start" if x < EDGE * 2 else "end" if x > WIDE - EDGE * 2 else "middle"
        parts.append(svg.text(x, 18, f"{hour}:00", size=15, anchor=anchor, class_="soft"))
    return svg.picture(WIDE, TALL, parts, kind="round", says=says)


def _step(left: float, right: float, top: float) -> SafeString:
    return svg.rect(left, top, right - left, BASE - top, "c-past")
