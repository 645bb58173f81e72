"""What is wrong with a page as it stands, on a phone and on a desk.

WCAG 2.2 AA by axe-core (Deque), which axe-playwright-python bundles.
"""

from __future__ import annotations

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}

RUN = "axe.run(document, {resultTypes: ['violations'], reporter: 'no-passes'})"
"""Every rule; only what breaks one is told."""

Fault = tuple[str, int, str, str]
"""Address, width of the screen, rule, where."""


def look(page: Page, address: str) -> list[Fault]:
    """At both widths: what axe finds, and whether anything sticks out."""
    page.evaluate(AXE_SCRIPT)
    found: list[Fault] = []
    for size in (PHONE, DESK):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        for rule in page.evaluate(RUN)["violations"]:
            found.append((address, size["width"], rule["id"], rule["nodes"][0]["html"][:200]))
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            found.append((address, size["width"], "wider than the screen", ""))
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    return found
