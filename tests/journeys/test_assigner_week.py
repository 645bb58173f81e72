"""The assigner reads the draft, tries a change, keeps it, plans around it and announces."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from apps.planning.models import Pin, Plan, PlanStatus
from tests.cast import Cast
from tests.journeys.conftest import OpenAs
from tests.journeys.looking import DESK, PHONE

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(
    ("viewport", "script"), [(PHONE, False), (DESK, True)], ids=["phone, no script", "desk"]
)
def test_pin_and_announce(
    open_as: OpenAs,
    neighbourhood: Cast,
    plans: tuple[Plan, Plan],
    viewport: dict[str, int],
    script: bool,
) -> None:
    page = open_as(neighbourhood.bruno, "/g/harbour/week/?by=day", viewport=viewport, script=script)
    page.locator("a[href*='/assignments/']").first.click()
    page.get_by_role("button", name="Try pinning it here").click()
    expect(page.get_by_role("heading", name="What that would do")).to_be_visible()
    assert not Pin.objects.of(neighbourhood.group).exists(), "trying writes nothing"
    page.get_by_role("button", name="Ask for this in the next plan").click()
    expect(page.get_by_text("Pinned:")).to_be_visible()

    page.get_by_role("button", name="Make the best plan around the pins").click()
    expect(page.get_by_role("heading", name="Plan 3")).to_be_visible()
    page.get_by_role("button", name="Announce plan 3 to everybody").click()
    expect(page.get_by_text("Plan 3 is announced.")).to_be_visible()
    announced = Plan.objects.of(neighbourhood.group).get(status=PlanStatus.ANNOUNCED)
    assert announced.version == 3


def test_a_draft_made_before_a_pin_is_not_announced(
    open_as: OpenAs, neighbourhood: Cast, plans: tuple[Plan, Plan]
) -> None:
    page = open_as(neighbourhood.bruno, "/g/harbour/week/?by=day")
    page.locator("a[href*='/assignments/']").first.click()
    page.get_by_role("button", name="Try without it this day").click()
    page.get_by_role("button", name="Ask for this in the next plan").click()
    page.get_by_role("button", name="Announce plan 2 to everybody").click()
    expect(page.get_by_role("heading", name="That did not go through")).to_be_visible()
    assert Plan.objects.of(neighbourhood.group).get(version=2).status == PlanStatus.DRAFT
