"""Is it alive; can it work."""

from __future__ import annotations

from django.db import OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from apps.people.access import PUBLIC, Access


@require_safe
def alive(request: HttpRequest) -> HttpResponse:
    """200 while the process answers."""
    return HttpResponse("alive\n", content_type="text/plain")


@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """200 when the database answers too, 503 otherwise."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except OperationalError:
        return HttpResponse("the database does not answer\n", "text/plain", status=503)
    return HttpResponse("ready\n", content_type="text/plain")


alive.access = ready.access = Access({"GET": PUBLIC})  # type: ignore[attr-defined]
