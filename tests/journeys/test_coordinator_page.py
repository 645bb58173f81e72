"""The coordinator looks at all digesters and opens one address in an emergency."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from apps.groups.models import Fact
from apps.planning.models import Plan
from tests.cast import Cast
from tests.journeys.conftest import OpenAs

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_from_the_board_to_an_address(
    open_as: OpenAs, neighbourhood: Cast, plans: tuple[Plan, Plan], script: bool
) -> None:
    page = open_as(neighbourhood.carla, "/g/harbour/digesters/", script=script)
    names = page.locator("main h2").all_inner_texts()
    assert "Heitor's digester" in names
    card = page.locator("section").filter(has_text="Duarte's digester")
    expect(card.get_by_text("Still fits today")).to_be_visible()
    expect(card.get_by_text("What binds")).to_be_visible()
    card.get_by_role("link", name="Duarte's digester").click()
    assert "Duarte-home Lane 1" not in page.content()

    page.get_by_role("link", name="Open the address").click()
    page.get_by_role("button", name="Write it down and show the address").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.get_by_label("Why do you need it?").fill("Smell of gas reported")
    page.get_by_role("button", name="Write it down and show the address").click()
    expect(page.get_by_text("Duarte-home Lane 1")).to_be_visible()
    fact = Fact.objects.of(neighbourhood.group).get(kind="address_opened")
    assert fact.payload == {"reason": "Smell of gas reported"}
    assert fact.actor_uuid == neighbourhood.carla.uuid
