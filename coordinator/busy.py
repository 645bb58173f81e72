"""A database that is locked or away: say so with 503, within the driver's own time limit."""

from __future__ import annotations

import logging
from collections.abc import Callable

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import get_template

logger = logging.getLogger(__name__)


class BusyDatabase:
    """Nothing was saved; the page keeps what was typed (a reload sends it again)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Translate; anything else stays a fault of ours."""
        if not isinstance(error, OperationalError):
            return None
        logger.error("The database did not answer: %s", error)
        response = HttpResponse(get_template("503.html").render(), status=503)
        response["Retry-After"] = "10"
        return response
