"""Where secret links lead; the pages are mounted at these paths."""

from __future__ import annotations

from django.conf import settings

DAY_PATH = "/day/%s/"
ROUND_PATH = "/round/%s/"
CALENDAR_PATH = "/calendar/%s.ics"


def day_address(token: str) -> str:
    """The page of one digester or source on one day."""
    return settings.SITE_ADDRESS + DAY_PATH % token


def round_address(token: str) -> str:
    """A carrier's round."""
    return settings.SITE_ADDRESS + ROUND_PATH % token


def calendar_address(token: str) -> str:
    """A person's calendar."""
    return settings.SITE_ADDRESS + CALENDAR_PATH % token
