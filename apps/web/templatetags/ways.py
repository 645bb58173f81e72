"""How the distances of a page were measured, and whose streets they follow."""

from __future__ import annotations

from typing import Any

from django import template

from apps.places.queries.street_maps import ATTRIBUTION, street_map

register = template.Library()


@register.inclusion_tag("web/parts/ways.html", takes_context=True)
def ways_measured(context: dict[str, Any]) -> dict[str, Any]:
    """One line, at the end of every page that says how far something is."""
    group = context["request"].admission.group
    return {
        "credit": ATTRIBUTION if street_map(group) else "",
        "detour": group.detour_ppm / 1_000_000,
    }
