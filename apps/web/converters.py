"""Days in addresses."""

from __future__ import annotations

from datetime import date

from django.urls import register_converter


class Day:
    """`2026-03-02`; what is no day of the calendar is no address."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, text: str) -> date:
        """ValueError makes the address unknown."""
        return date.fromisoformat(text)

    def to_url(self, on: date) -> str:
        """As it is read."""
        return on.isoformat()


register_converter(Day, "day")
