"""What the parts of a day's page have in common: render it, and go back to it."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from apps.web.views.day.visit import Visit


def show(
    request: HttpRequest, visit: Visit, template: str, context: dict[str, Any], status: int = 200
) -> HttpResponse:
    """A page of the day, light for a link, with the group's navigation for who signed in."""
    layout = "web/day/link_base.html" if visit.is_link else "web/base.html"
    return render(
        request,
        f"web/day/{template}.html",
        {"visit": visit, "layout": layout, "languages": settings.LANGUAGES, **context},
        status=status,
    )


def back(request: HttpRequest, visit: Visit, told: str) -> HttpResponse:
    """After a POST: the day's page says what was understood."""
    messages.success(request, told)
    return HttpResponseRedirect(visit.address)
