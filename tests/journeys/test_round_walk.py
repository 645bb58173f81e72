"""The carrier walks the round on a phone, and the network is gone half-way."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import expect

from apps.pickups.models import Pickup
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.places.models import Place
from apps.rounds.core.engine import Effort
from apps.rounds.models import Round, RoundEvent
from apps.rounds.operations.announce_round import announce_round
from apps.rounds.operations.build_round import build_round
from apps.rounds.operations.make_round_link import make_round_link
from apps.rounds.operations.save_carrier import save_carrier
from tests.cast import Cast, make_cast
from tests.journeys.conftest import OpenAs
from tests.journeys.looking import look
from tests.pickups.plans import write_plan

pytestmark = pytest.mark.browser

THE_COPY = """async (says) => {
    for (let tries = 0; tries < 100; tries += 1) {
        const kept = await caches.open("round-copies");
        const found = await kept.match(location.href);
        const text = found ? await found.text() : "";
        if (text.includes(says) && (await kept.keys()).length >= 3) return text;
        await new Promise((done) => setTimeout(done, 100));
    }
}"""
"""What the phone keeps for reloading, once it is there and says so much."""


@pytest.fixture
def walked(transactional_db: None) -> tuple[Cast, Round]:
    """A round of today: three pickups, announced yesterday."""
    cast = make_cast(datetime.now(UTC) - timedelta(days=1), history_days=0)
    plan = write_plan(
        cast,
        [
            (cast.vegetables, cast.drum, 0, 3_000),
            (cast.vegetables, cast.dome, 0, 2_000),
            (cast.peelings, cast.dome, 0, 5_000),
        ],
    )
    sync_pickups(plan, now=cast.now)
    start = Place.objects.of(cast.group).get(code="allotments")
    Place.objects.of(cast.group).get(code="quay").opening_hours.all().delete()
    carrier = save_carrier(cast.group, cast.graca, start=start)
    made = build_round(
        cast.group,
        carrier,
        cast.today + timedelta(days=1),
        now=cast.now,
        built_by=cast.bruno,
        effort=Effort(iterations=40),
    )
    announce_round(cast.group, made.uuid, now=cast.now, announced_by=cast.bruno)
    return cast, made


def test_a_round_with_the_network_cut_half_way(open_as: OpenAs, walked: tuple[Cast, Round]) -> None:
    cast, found = walked
    address = f"/round/{make_round_link(found, now=datetime.now(UTC))}/"
    page = open_as(None, address)
    copy = page.evaluate(THE_COPY, "0 of 6 stops done")
    assert "-home Lane" in page.content()
    assert "-home Lane" not in copy
    assert look(page, address) == []

    page.locator("section").get_by_role("button", name="Fetched", exact=True).click()
    expect(page.get_by_text("1 of 6 stops done")).to_be_visible()
    assert page.evaluate(THE_COPY, "1 of 6 stops done")

    page.context.set_offline(True)
    page.locator("section").get_by_role("button", name="Fetched", exact=True).click()
    expect(page.get_by_text("Waiting to be sent: 1")).to_be_visible()
    page.reload()
    expect(page.get_by_text("This is a copy from before")).to_be_visible()
    expect(page.get_by_text("Waiting to be sent: 1")).to_be_visible()
    # The third stop stands open now, above all others.
    third = found.stops.order_by("number")[2]
    card = page.locator(f"li[data-stop='{third.uuid}']")
    expect(page.get_by_role("heading", name="Next")).to_be_hidden()
    expect(card.get_by_text("Container")).to_be_visible()
    card.get_by_role("button", name="Fetched" if third.side == "fetch" else "Brought").first.click()
    expect(page.get_by_text("Waiting to be sent: 2")).to_be_visible()

    page.context.set_offline(False)
    expect(page.get_by_text("3 of 6 stops done")).to_be_visible(timeout=10_000)
    # Each once, also if one had arrived before the network went and only its answer was lost.
    assert RoundEvent.objects.of(cast.group).count() == 3
    assert page.evaluate("Object.keys(localStorage).length") == 0

    while (button := page.locator("section button.wide")).count():
        before = page.get_by_text("stops done").inner_text()
        button.click()
        expect(page.get_by_text("stops done")).not_to_have_text(before)
    expect(page.get_by_text("The round is over")).to_be_visible()
    assert set(Pickup.objects.of(cast.group).values_list("state", flat=True)) == {"delivered"}


def test_without_script_the_same_taps_work(open_as: OpenAs, walked: tuple[Cast, Round]) -> None:
    _cast, found = walked
    page = open_as(None, f"/round/{make_round_link(found, now=datetime.now(UTC))}/", script=False)
    page.locator("section").get_by_role("button", name="Fetched", exact=True).click()
    expect(page.get_by_text("1 of 6 stops done")).to_be_visible()
