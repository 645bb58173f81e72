"""The living digester by the link of a day."""

from __future__ import annotations

from django.http import HttpResponse

from apps.digesters.queries.model_view import model_view
from apps.web.page import PageRequest
from apps.web.views.day.answer import show
from apps.web.views.day.visit import Visit
from apps.web.views.living import pictures


def living(request: PageRequest, visit: Visit) -> HttpResponse:
    """Reads only."""
    digester = visit.digester
    assert digester is not None
    view = model_view(digester, visit.now)
    context = {"digester": digester, "view": view, **pictures(digester, view, visit.now)}
    return show(request, visit, "living", context)
