"""Headers that every answer carries, errors included."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse


class FixedHeaders:
    """No sensors, no cameras, no embedding elsewhere."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Add them."""
        response = self.get_response(request)
        response.headers.setdefault(
            "Permissions-Policy", "camera=(), geolocation=(self), microphone=(), payment=()"
        )
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return response
