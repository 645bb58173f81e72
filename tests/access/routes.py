"""Every address of the installation, read from the URL resolver."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from apps.people.access import Access

METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")

SAMPLES = {
    "slug": "nothing-here",
    "str": "nothing-here",
    "path": "nothing/here",
    "anything": "nothing/here%0A",
    "int": "1",
    "uuid": "00000000-0000-4000-8000-000000000000",
    "day": "2026-03-02",
    "date": "2026-03-02",
}
"""A value for each path converter; a new converter must be named here."""

PARAMETER = re.compile(r"<(?:(\w+):)?(\w+)>")


@dataclass(frozen=True, slots=True)
class Route:
    """One address: its pattern, and the view behind it."""

    pattern: str
    view: Callable[..., Any]

    @property
    def access(self) -> Access | None:
        """What the view declares, if anything."""
        declared = getattr(self.view, "access", None)
        return declared if isinstance(declared, Access) else None

    @property
    def is_api(self) -> bool:
        """Whether tokens are known there."""
        return self.pattern.startswith("api/")

    @property
    def parameters(self) -> dict[str, str]:
        """Name to converter."""
        return {name: kind or "str" for kind, name in PARAMETER.findall(self.pattern)}

    def address(self, **values: str) -> str:
        """The pattern with each parameter's value, or a sample of its kind."""

        def fill(match: re.Match[str]) -> str:
            kind, name = match.groups()
            return values.get(name) or SAMPLES[kind or "str"]

        return "/" + PARAMETER.sub(fill, self.pattern)


def all_routes() -> list[Route]:
    """Sorted by pattern."""
    return sorted(_walk(get_resolver().url_patterns, ""), key=lambda route: route.pattern)


def _walk(patterns: list[URLPattern | URLResolver], prefix: str) -> Iterator[Route]:
    for each in patterns:
        pattern = prefix + str(each.pattern)
        if isinstance(each, URLResolver):
            yield from _walk(each.url_patterns, pattern)
        else:
            yield Route(pattern, each.callback)
