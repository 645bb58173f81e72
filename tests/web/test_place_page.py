"""A place's position: looked up, given as a code, or typed; without any script."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client
from geopy.exc import GeocoderTimedOut
from geopy.geocoders import Nominatim
from geopy.location import Location

from apps.places.models import Place
from apps.places.operations.save_place import save_place
from apps.places.queries.find_spots import NotFound, find_spots
from tests.api.caller import Caller
from tests.cast import Cast
from tests.places.extracts import extract_of
from tests.places.operations.test_import_streets import bring_in
from tests.web.test_pages import as_member

ADD = "/g/harbour/places/add/"
DOORS = {
    1: (38.5000, -9.0000), 2: (38.5010, -9.0000), 3: (38.5004, -9.0001), 4: (38.5008, -9.0001),
}  # fmt: skip


@pytest.fixture
def client(cast: Cast) -> Client:
    tagged = {
        3: {"addr:street": "Ropemaker Street", "addr:housenumber": "3"},
        4: {"addr:street": "Ropemaker Street", "addr:housenumber": "7"},
    }
    street = {"highway": "residential", "name": "Ropemaker Street"}
    bring_in(cast, extract_of(DOORS, [([1, 2], street)], tagged))
    return as_member(cast.ana)


def test_an_address_is_found_shown_and_saved(client: Client, cast: Cast) -> None:
    typed = {"code": "net", "name": "Net loft", "where": "ropemaker st 7", "latitude": ""}
    found = client.post(ADD, {**typed, "find": "yes"})
    shown = found.content.decode()
    assert "Found: Ropemaker Street 7" in shown
    assert 'value="38.500800"' in shown
    assert 'value="Net loft"' in shown
    assert "c-pin" in shown
    assert not Place.objects.of(cast.group).filter(code="net").exists()
    near = client.post(ADD, {**typed, "where": "Ropemaker Street 5", "find": "yes"})
    assert "Nearest to it: Ropemaker Street" in near.content.decode()
    taken = client.post(ADD, {**typed, "take": "38.5004;-9.0001"})
    assert taken.context["form"].initial["latitude"] == Decimal("38.5004")
    saved = client.post(ADD, {**typed, "latitude": "38.5008", "longitude": "-9.0001"})
    assert saved.status_code == 302
    assert Place.objects.of(cast.group).get(code="net").longitude == Decimal("-9.0001")


def test_a_code_is_enough_to_save(client: Client, cast: Cast) -> None:
    typed = {"code": "net", "name": "Net loft"}
    assert client.post(ADD, {**typed, "where": "8CCHG222+22"}).status_code == 302
    full = Place.objects.of(cast.group).get(code="net")
    # The cell's middle: half of 1/8000 degree north and east of its corner (the specification).
    assert float(full.latitude) == pytest.approx(38.5000625, abs=1e-6)
    assert float(full.longitude) == pytest.approx(-8.9999375, abs=1e-6)
    client.post(ADD, {"code": "short", "name": "Loft", "where": "G222+22, Harbour"})
    short = Place.objects.of(cast.group).get(code="short")
    assert (short.latitude, short.longitude) == (full.latitude, full.longitude)


@pytest.mark.parametrize(
    ("where", "says"),
    [
        ("Elsewhere Boulevard 9", "not known here"),
        ("8CCHG2UU+22", "no Open Location Code"),
        ("8CCHG200+", "whole area"),
        ("95.5, 12.5", "not on the earth"),
    ],
)
def test_what_cannot_be_found_says_what_to_try(client: Client, where: str, says: str) -> None:
    answer = client.post(ADD, {"name": "Net loft", "where": where, "find": "yes"})
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert says in shown
    assert 'value="Net loft"' in shown


def test_saving_without_a_position_says_so(client: Client) -> None:
    typed = {"code": "net", "name": "Net loft"}
    assert client.post(ADD, typed).status_code == 422
    shown = client.post(ADD, {**typed, "where": "Ropemaker Street 7"}).content.decode()
    assert "Press “Find it” first" in shown


def test_a_group_of_its_own_sees_nothing_of_it(client: Client, cast: Cast) -> None:
    with pytest.raises(NotFound, match="not known here"):
        find_spots(cast.other_group, "Ropemaker Street 7")
    with pytest.raises(NotFound, match="short code"):
        find_spots(cast.other_group, "G222+22")


def test_a_script_looks_up_and_saves_by_code(client: Client, cast: Cast) -> None:
    caller = Caller(cast.ana)
    [spot] = caller.get("/spots?text=Ropemaker+Street+3").data["results"][:1]
    assert (spot["label"], spot["is_exact"]) == ("Ropemaker Street 3", True)
    assert caller.get("/spots?text=Nowhere+Road").status_code == 422
    body = {"name": "Net loft", "location_code": "G222+22"}
    kept = caller.put("/places/net", body).data["address"]
    assert kept["latitude"] == pytest.approx(38.5000625, abs=1e-6)
    both = caller.put("/places/net", {**body, "latitude": 38.5, "longitude": -9})
    assert (both.status_code, both.data["code"]) == (422, "position_unclear")
    assert caller.put("/places/net", {"name": "Net loft"}).status_code == 422


def test_the_network_is_asked_only_when_set_and_needed(
    client: Client, cast: Cast, settings, monkeypatch: pytest.MonkeyPatch
) -> None:  # type: ignore[no-untyped-def]
    asked: list[str] = []

    def answer(self: Nominatim, query: str, **options: object) -> list[Location]:
        asked.append(query)
        return [
            Location("Far Road 1", (60.0, 25.0, 0), {}),
            Location("Mill Road 1", (38.51, -9.01, 0), {}),
        ]

    monkeypatch.setattr(Nominatim, "geocode", answer)
    with pytest.raises(NotFound):
        find_spots(cast.group, "Mill Road 1")
    assert asked == []
    settings.GEOCODER, settings.GEOCODER_OPTIONS = "nominatim", {"user_agent": "test"}
    assert find_spots(cast.group, "Ropemaker Street 7")[0].is_exact
    assert asked == []
    assert [spot.label for spot in find_spots(cast.group, "Mill Road 1")] == ["Mill Road 1"]

    def fail(self: Nominatim, query: str, **options: object) -> None:
        raise GeocoderTimedOut("slow")

    monkeypatch.setattr(Nominatim, "geocode", fail)
    shown = client.post(ADD, {"where": "Mill Road 1", "find": "yes"})
    assert "address service does not answer" in shown.content.decode()


def test_a_place_may_be_changed_without_touching_its_position(client: Client, cast: Cast) -> None:
    place = save_place(
        cast.group, code="net", name="Net", latitude=Decimal("38.5"), longitude=Decimal("-9")
    )
    page = f"/g/harbour/places/{place.code}/"
    assert "Open Location Code of this spot: 8CCHG222+22" in client.get(page).content.decode()
    form = client.get(page).context["form"]
    typed = {name: form[name].value() or "" for name in form.fields}
    assert client.post(page, {**typed, "name": "New"}).status_code == 302
    place.refresh_from_db()
    assert (place.name, place.latitude) == ("New", Decimal("38.5"))
