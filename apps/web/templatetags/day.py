"""A key for each rendered form of a day's page."""

from __future__ import annotations

from typing import Any

from django import template

from apps.web.views.day.visit import client_key, new_key

register = template.Library()


@register.simple_tag(takes_context=True, name="client_key")
def form_key(context: dict[str, Any]) -> str:
    """A new one; while a form is asked again, the one that it carried, so that a second tap on
    the first button and the "yes" stay one thing."""
    request = context.get("request")
    if request is not None and request.method == "POST" and context.get("keeps_key"):
        return client_key(request)
    return new_key()
