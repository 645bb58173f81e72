"""What is late, repaired by one tap; the group's own times for reminders."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from apps.groups.models import Work
from apps.groups.operations.do_work import do_work
from apps.notices.models import Notice
from apps.pickups.core.life import State
from apps.pickups.models import Ladder, Pickup, Standby
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.queries.exceptions import Kind, todays_exceptions
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db
LATE = "/g/harbour/today/late/"


@remembered
def yesterdays_pickup() -> Cast:
    cast = make_cast(datetime.now(UTC) - timedelta(days=2), history_days=0)
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)]), now=cast.now)
    return cast


@pytest.fixture
def cast(client: Client) -> Cast:
    """Duarte was to fetch yesterday from 9 to 12; Carla looks."""
    cast = yesterdays_pickup()
    client.force_login(cast.carla.user)
    return cast


def the_pickup(cast: Cast) -> Pickup:
    return Pickup.objects.of(cast.group).select_related("fetcher").get()


def test_another_person_is_asked_by_one_tap(client: Client, cast: Cast) -> None:
    page = client.get(LATE).content.decode()
    assert "from Stall 4 on the quay to Duarte" in page
    address = f"{LATE}{the_pickup(cast).uuid}/"
    sent = {"do": "hand_over", "to": cast.elsa.code}
    assert "Elsa is asked" in client.post(address, sent, follow=True).content.decode()
    assert the_pickup(cast).fetcher == cast.elsa
    assert client.post(address, {"do": "hand_over", "to": "nobody"}).status_code == 404


def test_compost_instead_tells_the_source_and_looks_for_no_home(client: Client, cast: Cast) -> None:
    address = f"{LATE}{the_pickup(cast).uuid}/"
    told = client.post(address, {"do": "compost"}, follow=True).content.decode()
    assert "is told to compost it" in told
    assert "Nothing is late." in told
    assert the_pickup(cast).state == State.FAILED
    kinds = {each.kind for each in todays_exceptions(cast.group, now=datetime.now(UTC))}
    assert Kind.WITHOUT_HOME not in kinds
    for work in Work.objects.of(cast.group).filter(done_at=None, kind__startswith="tell_"):
        assert do_work(work.pk)
    [notice] = Notice.objects.of(cast.group)
    assert (notice.kind, notice.member) == ("pickup_composted", cast.filipe)
    again = client.post(address, {"do": "compost"})
    assert again.status_code == 409
    assert "did not happen" in again.content.decode()


def test_times_and_standby_are_the_groups_own(client: Client, cast: Cast) -> None:
    address = "/g/harbour/today/reminders/"
    assert 'value="120"' in client.get(address).content.decode()
    sent = {
        "reminder_min": "90",
        "second_reminder_min": "45",
        "standby_min": "30",
        "coordinator_min": "15",
        "people": [cast.elsa.code, cast.duarte.code],
    }
    assert client.post(address, sent).status_code == 302
    assert Ladder.objects.of(cast.group).get().reminder_min == 90
    assert Standby.objects.of(cast.group).count() == 2
    assert client.post(address, {**sent, "people": [cast.elsa.code]}).status_code == 302
    assert Standby.objects.of(cast.group).get().member == cast.elsa
    wrong = client.post(address, {**sent, "standby_min": "60"})
    assert wrong.status_code == 422
    assert "smaller and smaller" in wrong.content.decode()
