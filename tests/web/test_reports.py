"""Anybody reports; a smell of gas stops the feed and waits for whoever tests it."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.test import Client

from apps.digesters.models import Concern
from apps.pickups.core.life import State
from tests.web.day.conftest import Today, keys
from tests.web.day.conftest import today as _today

today = _today
GAS = "/report/harbour/duarte-home/gas_smell/"


def test_a_private_place_shows_neither_name_nor_street(client: Client, today: Today) -> None:
    for address in ("/report/", "/report/harbour/duarte-home/", GAS):
        page = client.get(address).content.decode()
        assert "Duarte" not in page
        assert "Lane" not in page


def test_the_place_is_found_by_its_code_or_the_list(client: Client, today: Today) -> None:
    to = client.post("/report/", {"code": " Duarte-Home "})
    assert to["Location"] == "/report/harbour/duarte-home/"
    to = client.post("/report/", {"code": "http://x/report/harbour/quay/"})
    assert to["Location"] == "/report/harbour/quay/"
    missing = client.post("/report/", {"code": "nowhere"})
    assert missing.status_code == 422
    assert 'value="nowhere"' in missing.content.decode()
    assert client.post("/report/", {}).status_code == 422


def test_gas_what_to_do_first_then_one_tap(client: Client, today: Today) -> None:
    page = client.get(GAS).content.decode()
    steps = ("No flame", "no switch", "Open doors", "gas valve", "call 112")
    assert all(step in page for step in steps)
    assert page.index("No flame") < page.index("<form method")
    assert not Concern.objects.of(today.cast.group).exists(), "reading writes nothing"
    [key] = keys(client, GAS)
    for _tap in range(5):
        answer = client.post(GAS, {"client_key": key})
    concern = Concern.objects.of(today.cast.group).get()
    assert answer["Location"] == f"/report/seen/{concern.uuid}/"
    assert today.fresh().state == State.WITHDRAWN
    home = client.get(today.home).content.decode()
    assert "Light nothing: gas was smelled here." in home


def test_gas_is_closed_only_with_the_name_of_who_tested(
    client: Client, today: Today, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The plan of this test is written by hand and has nothing to look for homes in.
    monkeypatch.setattr("apps.web.views.today.propose_next_homes", lambda pickup, **_asked: [])
    client.post(GAS, {})
    concern = Concern.objects.of(today.cast.group).get()
    client.force_login(today.cast.carla.user)
    board = client.get("/g/harbour/today/").content.decode()
    assert "A smell of gas at" in board
    assert board.index("A smell of gas at") < board.index("Answers as they come in")
    address = f"/g/harbour/today/concerns/{concern.uuid}/"
    sent = {"answer": "A hose clip was loose.", "tightness_tested_on": today.on.isoformat()}
    refused = client.post(address, sent)
    assert refused.status_code == 422
    assert "A hose clip was loose." in refused.content.decode()
    sent["tightness_tested_by"] = "Rui Gasista"
    assert client.post(address, sent).status_code == 302
    page = Client().get(f"/report/seen/{concern.uuid}/").content.decode()
    assert "A hose clip was loose." in page
    assert "Rui Gasista" in page


def test_flies_get_a_deadline(client: Client, today: Today) -> None:
    address = "/report/harbour/quay/flies/"
    answer = client.post(address, {"note": "Around the pails."}, follow=True)
    assert "answers here by" in answer.content.decode()
    too_long = client.post(address, {"note": "x" * 201})
    assert too_long.status_code == 422


def test_one_address_without_an_account_reports_six_times_an_hour_but_gas_always(
    client: Client, today: Today
) -> None:
    cache.clear()
    address = "/report/harbour/quay/flies/"
    for _time in range(6):
        assert client.post(address, {"note": "again"}).status_code == 302
    refused = client.post(address, {"note": "again"})
    assert refused.status_code == 422
    assert "within an hour" in refused.content.decode()
    assert client.post("/report/harbour/quay/gas_smell/", {}).status_code == 302
    cache.clear()
