"""The page of streets, and streets under the map."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from apps.places.core.streets.read_extract import read_extract
from apps.places.models import StreetExtract
from apps.places.operations.import_streets import import_streets
from apps.places.operations.read_streets import read_extract_row
from apps.places.queries.street_maps import ATTRIBUTION
from apps.web.charts.map_frame import frame_around
from apps.web.charts.street_base import MOST_BYTES, draw_streets
from tests.api.caller import Caller
from tests.cast import Cast
from tests.places.extracts import harbour, helsinki
from tests.web.test_pages import as_member

PAGE = "/g/harbour/streets/"
NOW = datetime(2026, 5, 11, 18, tzinfo=UTC)


def send(client: Client, data: bytes) -> str:
    file = SimpleUploadedFile("harbour.osm.pbf", data)
    return client.post(PAGE, {"file": file}, follow=True).content.decode()


def read_what_waits() -> None:
    read_extract_row(StreetExtract.unscoped.get(state="waiting"), now=NOW)


def test_an_administrator_brings_streets_in_and_takes_them_out(cast: Cast) -> None:
    client = as_member(cast.ana)
    assert "straight lines times 1.3" in client.get(PAGE).content.decode()
    assert "straight lines times 1.3" in client.get("/g/harbour/map/").content.decode()
    assert "waits to be read" in send(client, harbour())
    read_what_waits()
    shown = client.get(PAGE).content.decode()
    assert ATTRIBUTION in shown
    assert "Every place reaches a street" in shown
    seen = client.get("/g/harbour/map/").content.decode()
    assert seen.count(ATTRIBUTION) == 2
    assert "c-street" in seen
    assert "another town" not in shown
    send(client, helsinki())
    read_what_waits()
    shown = client.get(PAGE).content.decode()
    assert "another town" in shown
    assert "harbour.osm.pbf is not used" in shown
    extract = StreetExtract.unscoped.get(state="in_use")
    client.post(f"{PAGE}{extract.uuid}/remove/")
    assert ATTRIBUTION not in client.get("/g/harbour/map/").content.decode()


@pytest.mark.parametrize("data", [b"", harbour()[:-9]], ids=["empty", "cut short"])
def test_a_bad_file_is_refused_beside_the_field(cast: Cast, data: bytes) -> None:
    answer = as_member(cast.ana).post(PAGE, {"file": SimpleUploadedFile("h.osm.pbf", data)})
    assert answer.status_code == 422
    assert 'id="id_file_error"' in answer.content.decode() or answer.context["form"].errors["file"]
    assert not StreetExtract.unscoped.exists()


def test_a_script_brings_streets_in(cast: Cast) -> None:
    caller = Caller(cast.ana)
    sent = caller.client.post(
        "/api/v1/groups/harbour/streets",
        harbour(),
        content_type="application/octet-stream",
        headers={"Idempotency-Key": "streets-1"},
    )
    assert sent.status_code == 202, sent.content
    assert sent.json()["state"] == "waiting"
    read_what_waits()
    [row] = caller.get("/streets").data["results"]
    assert (row["state"], row["attribution"]) == ("in_use", ATTRIBUTION)
    refused = caller.client.post(
        "/api/v1/groups/harbour/streets",
        b"PK",
        content_type="application/octet-stream",
        headers={"Idempotency-Key": "streets-2"},
    )
    assert refused.status_code == 422
    assert refused.json()["code"] == "extract_refused"
    assert caller.call("DELETE", f"/streets/{row['uuid']}").status_code == 204
    assert caller.get("/streets").data["results"] == []


def test_a_whole_town_is_drawn_within_the_pages_budget() -> None:
    network = read_extract(helsinki()).network
    south, west, north, east = network.box
    drawn = "".join(draw_streets(network, frame_around([(south, west), (north, east)])))
    assert 10_000 < len(drawn) <= MOST_BYTES + 200
    near = "".join(draw_streets(network, frame_around([(60.17, 24.94), (60.1705, 24.941)])))
    assert 100 < len(near) < len(drawn)
    assert draw_streets(network, frame_around([(10.0, 10.0), (10.01, 10.01)])) == []


def test_streets_cost_no_statement_a_row(cast: Cast, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    sent = import_streets(cast.group, harbour(), file_name="h", now=cast.now)
    read_extract_row(sent, now=cast.now)
    client = as_member(cast.ana)
    client.get(PAGE)
    with django_assert_max_num_queries(14):
        client.get(PAGE)
