"""A householder's weeks with a new digester, walked in a browser: from the tightness test to the
first flame, a cold week, a souring and the way back. With PICTURES_TO set to a folder, each page
walked is kept there at 360 and 1280 px, in both languages."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from playwright.sync_api import Page, expect

from apps.digesters.models import ReadingKind, StageChange, StageName
from apps.digesters.operations.feed_digester import feed_digester
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.operations.update_model import update_models
from tests.cast import Cast, make_cast
from tests.journeys.conftest import OpenAs
from tests.journeys.looking import DESK, PHONE

pytestmark = pytest.mark.browser

START = datetime(2026, 10, 12, 17, 0, tzinfo=UTC)


class Home:
    """Duarte's drum, and the days that pass."""

    def __init__(self, cast: Cast, time_machine, open_as: OpenAs) -> None:
        self.cast, self.clock, self.open_as = cast, time_machine, open_as
        self.now = START
        self.pictures = os.environ.get("PICTURES_TO", "")

    def later(self, days: int) -> None:
        self.now += timedelta(days=days)
        self.clock.move_to(self.now, tick=True)

    def read(self, **values: int) -> None:
        for name, value in values.items():
            record_reading(
                self.cast.drum,
                kind=ReadingKind[name],
                value=value,
                taken_at=self.now,
                now=self.now,
                client_key=f"{self.now:%m-%d}-{name}",
                recorded_by=self.cast.duarte,
            )

    def feed(self, amount_g: int) -> None:
        feed_digester(
            self.cast.drum,
            from_bin_g={},
            own_waste_g={self.cast.materials["household_kitchen"]: amount_g},
            water_ml=amount_g * 7 // 3,
            fed_at=self.now,
            now=self.now,
            client_key=f"{self.now:%m-%d}-fed",
            is_confirmed=True,
        )

    def learn(self) -> None:
        self.cast.drum.refresh_from_db()
        update_models(self.cast.group, now=self.now, digesters=[self.cast.drum])

    def open(self, address: str, name: str) -> Page:
        page = self.open_as(self.cast.duarte, address)
        self.keep(address, name)
        return page

    def keep(self, address: str, name: str) -> None:
        if not self.pictures:
            return
        for width, viewport in ((360, PHONE), (1280, DESK)):
            for language in ("en", "es"):
                page = self.open_as(self.cast.duarte, "/", viewport=viewport)
                page.context.add_cookies(
                    [{"name": "django_language", "value": language, "url": page.url}]
                )
                page.goto("/".join(page.url.split("/")[:3]) + address)
                page.screenshot(
                    path=Path(self.pictures) / f"{name}-{width}-{language}.png", full_page=True
                )
                page.context.close()


@pytest.fixture
def home(transactional_db: None, time_machine, open_as: OpenAs) -> Home:
    time_machine.move_to(START, tick=True)
    cast = make_cast(START, history_days=0)
    cast.drum.stage, cast.drum.stage_since_on = StageName.DRY, cast.today
    cast.drum.drum_mass_g = 90_000
    cast.drum.uuid = UUID(int=1)  # The model's draws hang on it: the same walk each time.
    cast.drum.save()
    StageChange.objects.of(cast.group).filter(digester=cast.drum).update(
        stage=StageName.DRY, since_on=cast.today
    )
    return Home(cast, time_machine, open_as)


def done(page: Page) -> None:
    page.get_by_label("I have seen it myself").check()
    page.get_by_role("button", name="It is done: next step").click()
    expect(page.get_by_text("Written down:")).to_be_visible()


GUIDE = "/g/harbour/start-up/duarte-drum/"
INSIDE = "/g/harbour/digesters/duarte-drum/inside/"
WAY_BACK = "/g/harbour/digesters/duarte-drum/recovery/"


def test_from_the_first_water_to_the_way_back(home: Home) -> None:
    until_the_first_feed(home)
    until_it_runs(home)
    through_a_cold_week(home)
    through_a_souring(home)


def until_the_first_feed(home: Home) -> None:
    page = home.open(GUIDE, "01-tight")
    page.get_by_label("Litres it lost").fill("5")
    done(page)
    page = home.open(GUIDE, "02-seed")
    done(page)
    page = home.open(GUIDE, "03-rest")
    done(page)
    home.later(6)
    page = home.open(GUIDE, "04-vent")
    expect(page.get_by_text("never light it")).to_be_visible()
    home.read(DRUM_HEIGHT=890)
    home.learn()
    page = home.open(INSIDE, "05-inside-unvented")
    expect(page.get_by_text("Light nothing: the first gas")).to_be_visible()
    expect(page.get_by_text("No minutes are promised")).to_be_visible()
    expect(page.get_by_text("Gas holder full")).to_be_visible()
    expect(page.get_by_text("Use the gas")).not_to_be_visible()
    page = home.open(GUIDE, "04-vent")
    done(page)
    home.later(3)
    page = home.open(GUIDE, "06-flame")
    done(page)
    home.later(3)
    page = home.open(GUIDE, "07-wait")
    expect(page.get_by_text("Until then, wait")).to_be_visible()
    home.later(4)
    home.read(PH=700, FLAME=2)
    page = home.open(GUIDE, "08-ramp")
    done(page)
    home.cast.drum.refresh_from_db()
    assert home.cast.drum.stage == StageName.RAMPING


def until_it_runs(home: Home) -> None:
    # Three steps up and then it runs, a week each, written down on its last two days.
    for week, amount_g in enumerate((500, 1000, 1600, 2200)):
        for days, height_mm in ((6, 300), (1, 310)):
            home.later(days)
            home.feed(amount_g)
            home.read(DRUM_HEIGHT=height_mm, BURNER=15 + 10 * week)
        home.read(PH=700, SLURRY_TEMPERATURE=2600, FLAME=2, SOUR_SMELL=0)
        page = home.open(GUIDE, f"08-up-{week + 1}")
        done(page)
    home.cast.drum.refresh_from_db()
    assert home.cast.drum.stage == StageName.RUNNING
    for _day in range(9):
        home.later(1)
        home.feed(2600)
        home.read(DRUM_HEIGHT=310, BURNER=55, SLURRY_TEMPERATURE=2600)
    home.learn()
    page = home.open(INSIDE, "09-evening")
    expect(page.get_by_text("of one burner (")).to_be_visible()
    day = f"/g/harbour/my-day/homes/duarte-drum/{home.now:%Y-%m-%d}/"
    home.keep(day, "10-day")
    home.keep(f"{day}picture/", "11-picture")
    home.keep(f"{day}readings/", "12-readings")


def through_a_cold_week(home: Home) -> None:
    """Told by the thermometer in the slurry."""
    for celsius in (24, 22, 20):
        home.later(1)
        home.feed(2600)
        home.read(DRUM_HEIGHT=290, BURNER=45, SLURRY_TEMPERATURE=celsius * 100)
    home.learn()
    page = home.open(INSIDE, "13-cold")
    expect(page.get_by_text("instead of")).to_be_visible()
    expect(page.get_by_text("cold").first).to_be_visible()


def through_a_souring(home: Home) -> None:
    home.later(1)
    home.read(PH=600, FLAME=1)
    home.learn()
    page = home.open(INSIDE, "14-sour")
    expect(page.get_by_text("The pH strip shows 6.0.")).to_be_visible()
    expect(page.get_by_text("The strip counts.")).to_be_visible()
    page.get_by_role("link", name="The way back, step by step").click()
    home.keep(WAY_BACK, "15-stop")
    page.get_by_role("button", name="I have stopped feeding").click()
    expect(page.get_by_text("feeding has stopped")).to_be_visible()
    home.later(3)
    page = home.open(WAY_BACK, "16-strip")
    home.read(PH=620)
    page = home.open(WAY_BACK, "17-wait")
    home.later(5)
    home.read(PH=620)
    page = home.open(WAY_BACK, "18-buffer")
    expect(page.get_by_text("never water onto lime")).to_be_visible()
    home.later(2)
    home.read(PH=690)
    page = home.open(WAY_BACK, "19-feed")
    expect(page.get_by_role("heading", name="Feed a tenth")).to_be_visible()
