"""Is it alive; can it work."""

from __future__ import annotations

from django.db import OperationalError, connection
from django.http import HttpRequest, HttpResponse

from apps.people.access import PUBLIC, Access


def alive(request: HttpRequest) -> HttpResponse:
    """200 while the process answers."""
    return HttpResponse("alive\n", content_type="text/plain")


def ready(request: HttpRequest) -> HttpResponse:
    """200 when the database answers too, 503 otherwise."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except OperationalError:
        return HttpResponse("the database does not answer\n", "text/plain", status=503)
    return HttpResponse("ready\n", content_type="text/plain")


alive.access = ready.access = Access({"GET": PUBLIC})  # type: ignore[attr-defined]
