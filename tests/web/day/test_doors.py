"""Who comes in by a link or signed in, to whose day, and in which language."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from apps.groups.models import Fact
from apps.pickups.core.life import State
from apps.pickups.models import PickupEvent
from tests.web.day.conftest import A_KEY, Today, keys, tap


def test_reading_the_link_changes_nothing(client: Client, today: Today) -> None:
    facts = Fact.objects.of(today.cast.group).count()
    for _time in range(3):
        assert client.get(today.home).status_code == 200
        assert client.head(today.home).status_code == 200
    assert Fact.objects.of(today.cast.group).count() == facts
    assert today.fresh().state == State.ANNOUNCED


def test_nobody_keeps_the_page_and_nothing_tells_its_address(client: Client, today: Today) -> None:
    answer = client.get(today.home)
    assert "no-store" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "Set-Cookie" not in answer


def test_the_link_needs_no_cookie_and_no_origin(today: Today) -> None:
    strict = Client(enforce_csrf_checks=True, headers={"Origin": "null"})
    assert tap(strict, today, do="accept").status_code == 302
    assert today.fresh().state == State.ACCEPTED


def test_a_link_for_tomorrow_lets_answer_but_not_confirm(client: Client, today: Today) -> None:
    address = today.link(today.cast.duarte, today.on + timedelta(days=1), digester=today.cast.drum)
    page = client.get(address).content.decode()
    assert "I fed it" not in page


def test_dead_links_say_whom_to_ask(client: Client, today: Today) -> None:
    assert client.get("/day/AAAAAAAAAAAAAAAAAAAAAA/").status_code == 410
    today.cast.drum.household = today.cast.elsa
    today.cast.drum.save()
    gone = client.get(today.home)
    assert gone.status_code == 410
    assert "Carla" in gone.content.decode()
    assert gone["Referrer-Policy"] == "no-referrer"
    assert tap(client, today, do="complete").status_code == 202
    assert today.fresh().state == State.ANNOUNCED


def test_an_expired_link_is_over(client: Client, today: Today) -> None:
    old = today.link(today.cast.duarte, today.on - timedelta(days=9), digester=today.cast.drum)
    assert client.get(old).status_code == 410


def test_somebody_elses_pickup_is_not_found(client: Client, today: Today) -> None:
    link = today.link(today.cast.elsa, today.on, digester=today.cast.dome)
    sent = {"do": "complete", "pickup": str(today.pickup.uuid), "client_key": A_KEY}
    assert client.post(link, sent).status_code == 404


def test_each_form_has_its_own_key(client: Client, today: Today) -> None:
    found = keys(client, today.home)
    assert len(found) == len(set(found)) >= 4


def test_a_coordinator_acts_for_somebody_and_it_shows(client: Client, today: Today) -> None:
    carla, group = today.cast.carla, today.cast.group
    client.force_login(carla.user)
    address = f"/g/harbour/my-day/homes/duarte-drum/{today.on}/"
    assert "You act for Duarte." in client.get(address).content.decode()
    sent = {"do": "accept", "pickup": str(today.pickup.uuid), "client_key": A_KEY}
    assert client.post(address, sent).status_code == 302
    event = PickupEvent.objects.of(group).get()
    assert (event.by, event.acted_for) == (carla, today.cast.duarte)
    assert "Carla for Duarte" in client.get("/g/harbour/today/").content.decode()


def test_another_household_may_not(client: Client, today: Today) -> None:
    client.force_login(today.cast.elsa.user)
    address = f"/g/harbour/my-day/homes/duarte-drum/{today.on}/"
    assert client.get(address).status_code == 403
    assert client.post(address, {"do": "feed", "client_key": A_KEY}).status_code == 403


def test_my_day_leads_to_the_only_digester(client: Client, today: Today) -> None:
    client.force_login(today.cast.duarte.user)
    answer = client.get("/g/harbour/my-day/")
    assert answer["Location"] == f"/g/harbour/my-day/homes/duarte-drum/{today.on}/"
    assert client.get(answer["Location"]).status_code == 200


def test_the_language_of_the_link_is_the_persons_and_can_be_changed(
    client: Client, today: Today
) -> None:
    duarte = today.cast.duarte
    duarte.language = "es"
    duarte.save()
    assert 'lang="es"' in client.get(today.home).content.decode()
    assert client.post(today.home, {"language": "en"}).status_code == 302
    assert '<html lang="en"' in client.get(today.home).content.decode()
    assert today.fresh().state == State.ANNOUNCED


@pytest.mark.parametrize(
    "fields",
    [
        {"do": "decline", "reason": "x" * 5_000},
        {"do": "complete", "pickup": "\x00"},
        {"do": "complete", "pickup": "' or 1=1"},
        {"do": "explode"},
    ],
)
def test_made_up_fields_are_no_fault_of_ours(
    client: Client, today: Today, fields: dict[str, str]
) -> None:
    assert tap(client, today, **fields).status_code == 404
    assert tap(client, today, do="accept", revision="9" * 5_000).status_code == 302
