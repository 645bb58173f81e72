"""Which content is read and written: JSON, unless a view says otherwise."""

from __future__ import annotations

from typing import Any

from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request


class AlwaysJSON(BaseContentNegotiation):
    """Answer in JSON whatever is accepted (RFC 9110, 12.5.1 allows it); files say their own."""

    def select_parser(self, request: Request, parsers: list[Any]) -> Any:
        """By the content type alone; None becomes 415."""
        sent = (request.content_type or "").partition(";")[0].strip().lower()
        return next((parser for parser in parsers if parser.media_type == sent), None)

    def select_renderer(
        self, request: Request, renderers: list[Any], format_suffix: str | None = None
    ) -> tuple[Any, str]:
        """The first."""
        return renderers[0], renderers[0].media_type
