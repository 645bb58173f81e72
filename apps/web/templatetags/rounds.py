"""Times of a round as people read them."""

from __future__ import annotations

from django import template
from django.utils.translation import gettext

from apps.web.templatetags.shown import NARROW, number
from apps.web.views.day.reasons import REASON_WORDS

register = template.Library()


@register.filter
def time_of_day(seconds: int | None) -> str:
    """Seconds after midnight as a wall clock shows them, to the nearest minute."""
    if seconds is None or seconds == "":
        return "–"
    minutes = round(seconds / 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


@register.filter
def lasting(seconds: int | None) -> str:
    """A duration: "2 h 05 min"."""
    if seconds is None or seconds == "":
        return "–"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes}{NARROW}min"
    return f"{minutes // 60}{NARROW}h {minutes % 60:02d}{NARROW}min"


@register.filter
def kg_metres(gram_metres: int | None) -> str:
    """Load times way, in kilogram-metres."""
    return "–" if gram_metres is None else f"{number(round(gram_metres / 1000))}{NARROW}kg·m"


@register.filter
def reason_words(name: str) -> str:
    """A reason in the words of its button."""
    return str(REASON_WORDS[name]) if name in REASON_WORDS else gettext(name)
