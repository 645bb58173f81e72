"""Where secret links lead; the pages are mounted at these paths."""

from __future__ import annotations

from django.conf import settings

DAY_PATH = "/day/%s/"
CALENDAR_PATH = "/calendar/%s.ics"


def day_address(token: str) -> str:
    """The page of one digester or source on one day."""
    return settings.SITE_ADDRESS + DAY_PATH % token


def calendar_address(token: str) -> str:
    """A person's calendar."""
    return settings.SITE_ADDRESS + CALENDAR_PATH % token
