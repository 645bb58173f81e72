"""A day walked in a browser, with script and without: a household, a stall, the coordinator's
desk, and a stranger who smells gas. Every page on a phone and a desk: axe finds nothing."""

from __future__ import annotations

import gzip
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import expect

from apps.digesters.models import Concern
from apps.ledger.models import Posting, PostingKind
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.pickups.operations.make_day_link import make_day_link
from tests.cast import Cast
from tests.journeys.conftest import OpenAs, announced_today
from tests.journeys.looking import DESK, look

pytestmark = pytest.mark.browser

MOST_LINK_BYTES = 14 * 1024
MOST_PAGE_BYTES = 150 * 1024
STYLE = Path("apps/web/static/web/style.css")

SCRIPT = pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])


@pytest.fixture
def pickup(neighbourhood: Cast) -> Pickup:
    """The first pickup of today's announced plan; where nobody has anything today (a Sunday),
    the first of the next day, made today's."""
    announced_today()
    found = (
        Pickup.objects.of(neighbourhood.group)
        .select_related("source__contact", "digester__household", "group")
        .order_by("on", "id")
        .first()
    )
    assert found is not None
    if found.on != neighbourhood.today:
        found.on = neighbourhood.today
        found.save(update_fields=["on"])
    return found


def home_link(pickup: Pickup) -> str:
    """The household's address of today."""
    home = pickup.digester
    assert home.household is not None
    token = make_day_link(home.household, pickup.on, now=datetime.now(UTC), digester=home)
    return f"/day/{token}/"


def stall_link(cast: Cast) -> str:
    """The stall's address of today."""
    token = make_day_link(cast.filipe, cast.today, now=datetime.now(UTC), source=cast.quay_stall)
    return f"/day/{token}/"


@SCRIPT
def test_a_household_confirms_feeds_and_reads(
    open_as: OpenAs, pickup: Pickup, script: bool
) -> None:
    page = open_as(None, home_link(pickup), script=script)
    page.get_by_role("button", name="I fetched it").first.click()
    expect(page.get_by_text("Written down:")).to_be_visible()
    pickup.refresh_from_db()
    assert pickup.state == State.DELIVERED
    page.get_by_role("button", name="I fed it as the recipe says").click()
    expect(page.get_by_text("of water went in.")).to_be_visible()
    fed = Posting.objects.of(pickup.group).filter(kind=PostingKind.FEEDING, on=pickup.on)
    assert fed.count() == 1
    page.get_by_role("link", name="Write down readings").click()
    expect(page.get_by_text("enter it indoors")).to_be_visible()
    page.get_by_label("steady and blue").check()
    page.get_by_label("7.0").check()
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_text("Written down: flame")).to_be_visible()
    page.get_by_role("link", name="The whole picture and the week").click()
    expect(page.get_by_role("heading", name="What it can still take")).to_be_visible()


@SCRIPT
def test_a_decline_finds_the_next_home(
    open_as: OpenAs, neighbourhood: Cast, pickup: Pickup, script: bool
) -> None:
    page = open_as(None, home_link(pickup), script=script)
    page.get_by_text("I cannot go").first.click()
    page.get_by_role("button", name="I am ill").first.click()
    expect(page.get_by_text("You do not go.")).to_be_visible()
    desk = open_as(neighbourhood.bruno, "/g/harbour/today/", viewport=DESK, script=script)
    expect(desk.get_by_text("Waste without a home")).to_be_visible()
    give = desk.get_by_role("button", name="Give it to")
    if not give.count():
        expect(desk.get_by_text("No other home in reach")).to_be_visible()
        return
    give.first.click()
    expect(desk.get_by_text("fetches at")).to_be_visible()
    assert (
        Pickup.objects.of(pickup.group)
        .filter(source=pickup.source, on=pickup.on, state=State.ANNOUNCED)
        .exists()
    )


@SCRIPT
def test_a_stall_says_what_it_has(
    open_as: OpenAs, neighbourhood: Cast, pickup: Pickup, script: bool
) -> None:
    page = open_as(None, stall_link(neighbourhood), script=script)
    page.get_by_text("Another amount").click()
    page.get_by_role("button", name="4.5").click()
    expect(page.get_by_text("You said 4.5")).to_be_visible()
    page.get_by_text("Nothing today").click()
    page.get_by_role("button", name="Yes, nothing").click()
    expect(page.get_by_text("Written down: nothing today.")).to_be_visible()


@SCRIPT
def test_a_stranger_smells_gas(open_as: OpenAs, neighbourhood: Cast, script: bool) -> None:
    page = open_as(None, "/", script=script)
    page.get_by_role("link", name="You smell gas, or see flies or a leak?").click()
    expect(page.get_by_text("No flame, no cigarette.")).to_be_visible()
    page.get_by_label("Code on the label").fill("duarte-home")
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("link", name="Smell of gas").click()
    expect(page.get_by_role("heading", name="Do this now")).to_be_visible()
    page.get_by_role("button", name="I am outside").click()
    expect(page.get_by_role("heading", name="The coordinator is told")).to_be_visible()
    seen = page.url
    concern = Concern.objects.of(neighbourhood.group).get()
    desk = open_as(
        neighbourhood.carla,
        f"/g/harbour/today/concerns/{concern.uuid}/",
        viewport=DESK,
        script=script,
    )
    desk.get_by_label("Who tested it for tightness").fill("Rui Gasista")
    desk.get_by_label("What was found and done").fill("A clip was loose.")
    desk.get_by_role("button", name="It is tight: close it").click()
    expect(desk.get_by_text("Answered. Whoever reported it can read it.")).to_be_visible()
    page.goto(seen)
    expect(page.get_by_text("A clip was loose.")).to_be_visible()


def test_axe_width_and_weight(
    open_as: OpenAs, neighbourhood: Cast, pickup: Pickup, live_server
) -> None:
    on = neighbourhood.today
    home, stall = home_link(pickup), stall_link(neighbourhood)
    own = f"/g/harbour/my-day/homes/{pickup.digester.code}/{on}/"
    pages = {
        "": [
            home, f"{home}feeding/", f"{home}readings/", f"{home}picture/", f"{home}fertiliser/",
            f"{home}pickups/{pickup.uuid}/", stall, f"{stall}amounts/",
            "/day/AAAAAAAAAAAAAAAAAAAAAA/", "/report/", "/report/harbour/quay/",
            "/report/harbour/quay/gas_smell/", "/report/harbour/quay/flies/",
        ],
        "carla": [
            own, "/g/harbour/today/", f"/g/harbour/today/pickups/{pickup.uuid}/next-home/",
            "/g/harbour/today/bins/duarte-drum/", "/g/harbour/start-up/heitor-bag/",
            "/g/harbour/away/heitor-bag/", "/g/harbour/pails/", "/g/harbour/pails/add/",
            "/g/harbour/sorting/", "/g/harbour/labels/", "/g/harbour/me/",
        ],
        "duarte": ["/g/harbour/my-day/", "/g/harbour/away/duarte-drum/", "/g/harbour/every-week/"],
    }  # fmt: skip
    found: list[object] = []
    style = len(gzip.compress(STYLE.read_bytes()))
    for who, addresses in pages.items():
        page = open_as(getattr(neighbourhood, who) if who else None, addresses[0])
        for address in addresses:
            answer = page.goto(live_server.url + address)
            assert answer is not None
            found += look(page, address)
            body = answer.body()
            most = MOST_LINK_BYTES if address.startswith("/day/") else MOST_PAGE_BYTES
            size = len(gzip.compress(body)) + style if most < MOST_PAGE_BYTES else len(body)
            if size > most:
                found.append((address, f"weighs {size} bytes"))
            assert b"<script" not in body, "phone pages need no script"
    assert not found


def test_the_link_of_tomorrow_is_for_answering(
    open_as: OpenAs, neighbourhood: Cast, pickup: Pickup
) -> None:
    home = pickup.digester
    assert home.household is not None
    token = make_day_link(
        home.household, pickup.on + timedelta(days=1), now=datetime.now(UTC), digester=home
    )
    page = open_as(None, f"/day/{token}/")
    expect(page.get_by_role("button", name="I fetched it")).to_have_count(0)
    expect(page.get_by_text("Write it down once the day has come.")).to_be_visible()
