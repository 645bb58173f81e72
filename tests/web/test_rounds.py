"""Pages of rounds: building, changing, walking by link and signed in, the sheet."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from uuid import uuid4

import pytest
import time_machine
from django.test import Client

from apps.pickups.models import Pickup
from apps.places.models import Place
from apps.rounds.models import Carrier, Round, RoundState, RoundStop
from apps.rounds.operations.make_round_link import make_round_link
from apps.rounds.operations.save_carrier import save_carrier
from apps.rounds.verifier import verify
from tests.rounds.harbour import Harbour, make_harbour, pickup_of, waiting

pytestmark = pytest.mark.django_db

JSON = {"Accept": "application/json"}


@pytest.fixture
def harbour():
    """The evening before."""
    made = make_harbour()
    with time_machine.travel(made.cast.now, tick=False) as clock:
        made.clock = clock
        yield made


def signed_in(member) -> Client:
    client = Client()
    client.force_login(member.user)
    return client


def by_link(harbour: Harbour) -> tuple[Round, str]:
    """Announced, ten in the morning; the link's address."""
    found = harbour.announced()
    harbour.clock.move_to(harbour.then)
    return found, f"/round/{make_round_link(found, now=harbour.then)}/"


def note(client: Client, address: str, stop: RoundStop, key: str | None = None, **more):
    """One tap of the page's script."""
    values = {"stop": stop.uuid, "do": "done", "client_key": key or uuid4(), **more}
    return client.post(address, values, headers=JSON)


def test_the_next_day_with_something_to_carry_is_shown(harbour):
    client = signed_in(harbour.cast.bruno)
    page = client.get("/g/harbour/rounds/").content.decode()
    assert "3 pickups are open" in page
    assert f'?on={harbour.on}" aria-current="page">Tue 12 (3)' in page
    harbour.build()
    page = client.get("/g/harbour/rounds/").content.decode()
    assert f'?on={harbour.on}" aria-current="page">Tue 12<' in page
    harbour.clock.move_to(harbour.then + timedelta(days=1))
    assert (
        "Nothing is to be fetched in the coming days"
        in client.get("/g/harbour/rounds/").content.decode()
    )


def test_an_assigner_builds_changes_and_announces_a_round(harbour):
    client = signed_in(harbour.cast.bruno)
    page = client.get(f"/g/harbour/rounds/?on={harbour.on}")
    assert "3 pickups are open" in page.content.decode()
    answer = client.post(
        "/g/harbour/rounds/", {"carrier": "graca", "on": harbour.on, "from_min": "", "till_min": ""}
    )
    assert answer.status_code == 302
    shown = client.get(answer["Location"]).content.decode()
    for words in ("Timeline", "Each alone", "kg·m", "ISO 11228-1", "Promise this time"):
        assert words in shown
    assert "-home Lane" not in shown  # streets of homes stay private
    stop = waiting(Round.objects.of(harbour.cast.group).get())[-1]
    moved = client.post(answer["Location"], {"do": "move", "stop": stop.uuid, "to_number": "1"})
    assert moved.status_code == 422
    assert "before its waste was fetched" in moved.content.decode()
    assert client.post(answer["Location"], {"do": "lock", "stop": stop.uuid}).status_code == 302
    assert client.post(answer["Location"], {"do": "announce"}).status_code == 302
    assert Round.objects.of(harbour.cast.group).get().state == RoundState.ANNOUNCED
    link = client.post(answer["Location"], {"do": "link"}, follow=True).content.decode()
    token = re.search(r"/round/([\w-]{22})/", link)
    assert token is not None
    assert Client().get(f"/round/{token.group(1)}/").status_code == 200


def test_several_are_built_at_once_and_each_is_a_file_for_the_check(harbour):
    client = signed_in(harbour.cast.bruno)
    start = Place.objects.of(harbour.cast.group).get(code="school")
    save_carrier(harbour.cast.group, harbour.cast.elsa, start=start, load_limit_g=1_000)
    answer = client.post(
        "/g/harbour/rounds/", {"carrier": ["graca", "elsa"], "on": harbour.on}, follow=True
    )
    page = answer.content.decode()
    # Her cart is too small for any of it.
    assert "Not needed: Elsa" in page
    other = Carrier.objects.of(harbour.cast.group).get(member=harbour.cast.elsa)
    Carrier.unscoped.filter(pk=other.pk).update(load_limit_g=90_000, till_min=12 * 60)
    Carrier.unscoped.filter(member=harbour.cast.graca).update(load_limit_g=4_000)
    page = client.post(
        "/g/harbour/rounds/", {"carrier": ["graca", "elsa"], "on": harbour.on}, follow=True
    ).content.decode()
    made = list(Round.objects.of(harbour.cast.group))
    assert made
    for each in made:
        assert f"/g/harbour/rounds/{each.uuid}/" in page or len(made) == 1
        file = client.get(f"/g/harbour/rounds/{each.uuid}/document/")
        assert "attachment" in file["Content-Disposition"]
        assert verify(json.loads(file.content)) == []


def test_a_round_of_nothing_says_so_beside_the_form(harbour):
    client = signed_in(harbour.cast.bruno)
    Pickup.unscoped.all().update(state="declined")
    answer = client.post("/g/harbour/rounds/", {"carrier": "graca", "on": harbour.on})
    assert answer.status_code == 422
    assert "No pickup is open that day" in answer.content.decode()


def test_how_somebody_carries_is_typed_in(harbour):
    client = signed_in(harbour.cast.bruno)
    values = {
        "moving": "cargo_bike", "load_limit_g": "80", "start": "allotments", "end": "quay",
        "from_min": "07:30", "till_min": "12:00", "rest_min": "20", "rest_from_min": "09:00",
        "rest_till_min": "10:30", "avoids": ["school"], "is_active": "on",
    }  # fmt: skip
    assert client.post("/g/harbour/carriers/graca/", values).status_code == 302
    kept = Carrier.objects.of(harbour.cast.group).get()
    assert (kept.load_limit_g, kept.from_min, kept.rest_min) == (80_000, 450, 20)
    assert "80" in client.get("/g/harbour/carriers/").content.decode()
    wrong = client.post("/g/harbour/carriers/graca/", {**values, "load_limit_g": "0"})
    assert "nothing can be carried" in wrong.content.decode()
    half = client.post("/g/harbour/carriers/graca/", {**values, "rest_till_min": ""})
    assert "both times" in half.content.decode()


def test_the_link_shows_the_round_and_reading_changes_nothing(harbour):
    found, address = by_link(harbour)
    page = Client().get(address)
    text = page.content.decode()
    first = waiting(found)[0]
    assert page["Cache-Control"] == "no-store, private"
    assert "0 of 6 stops done" in text
    assert "of at most 60\xa0kg on the cart" in text
    assert first.short_code in text
    assert "Lift at most" in text or "15 kg" in text
    assert found.stops.filter(state="waiting").count() == 6


def test_the_copy_for_the_phone_holds_no_private_address(harbour):
    _found, address = by_link(harbour)
    client = Client()
    assert "Duarte-home Lane 1" in client.get(address).content.decode()
    copy = client.get(f"{address}?copy=1").content.decode()
    assert "-home Lane" not in copy
    assert "without addresses" in copy
    harbour.clock.move_to(harbour.then + timedelta(days=3))
    assert "-home Lane" not in client.get(address).content.decode()


def test_a_tap_by_script_and_by_form_and_the_same_key_twice(harbour):
    found, address = by_link(harbour)
    client = Client()
    first, second = waiting(found)[:2]
    key = uuid4()
    for _time in range(2):
        answer = note(client, address, first, key)
        assert answer.status_code == 200
        assert first.short_code in answer.json()["told"]
    other = note(client, address, first)
    assert other.status_code == 409
    assert "already noted as done" in other.json()["refused"]
    answer = client.post(address, {"stop": second.uuid, "do": "done", "client_key": uuid4()})
    assert answer.status_code == 302
    assert "2 of 6 stops done" in client.get(address).content.decode()


def test_a_tap_told_later_keeps_its_time_unless_it_cannot_be(harbour):
    found, address = by_link(harbour)
    before = harbour.then - timedelta(hours=1)
    first, second, *_rest = waiting(found)
    note(Client(), address, first, happened_at=before.isoformat())
    note(Client(), address, second, happened_at=(harbour.then + timedelta(days=1)).isoformat())
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.happened_at, second.happened_at) == (before, harbour.then)


def test_out_of_order_and_another_rounds_stop_are_refused(harbour):
    found, address = by_link(harbour)
    bring = next(stop for stop in waiting(found) if stop.side == "bring")
    answer = note(Client(), address, bring)
    assert answer.status_code == 409
    assert "fetched it at" in answer.json()["refused"]
    stranger = RoundStop(uuid=uuid4())
    assert note(Client(), address, stranger).status_code == 404
    assert note(Client(), "/round/" + "x" * 22 + "/", bring).status_code == 410


def test_a_problem_orders_the_rest_anew(harbour):
    found, address = by_link(harbour)
    stop = pickup_of(harbour, "school-canteen", harbour.cast.dome.code).round_stops.get(
        side="fetch"
    )
    answer = note(Client(), address, stop, do="problem", reason="nobody_there")
    assert answer.status_code == 200
    text = Client().get(address).content.decode()
    assert "Nobody was there" in text
    assert len(waiting(found)) == 4


def test_a_weight_that_is_far_too_much_is_asked_again(harbour):
    found, address = by_link(harbour)
    first = waiting(found)[0]
    answer = note(Client(), address, first, amount="99")
    assert answer.json()["code"] == "weight_unusual"
    assert note(Client(), address, first, amount="99", is_confirmed="1").status_code == 200


def test_the_sheet_has_codes_and_no_private_address_and_is_typed_in(harbour):
    found, address = by_link(harbour)
    client = Client()
    sheet = client.get(f"{address}sheet/").content.decode()
    stops = waiting(found)
    for stop in stops:
        assert stop.short_code in sheet
    assert "-home Lane" not in sheet
    wrong = client.post(f"{address}typed/", {"lines": f"{stops[0].short_code}\nZ9Z"})
    assert wrong.status_code == 422
    assert "is no code of this round" in wrong.content.decode()
    assert len(waiting(found)) == 6
    lines = "\n".join(f"{stop.short_code.lower()} 2,5" for stop in reversed(stops))
    key = uuid4()
    for _time in range(2):
        answer = client.post(f"{address}typed/", {"lines": lines, "client_key": key})
        assert answer.status_code == 302
    found.refresh_from_db()
    assert found.state == RoundState.OVER


def test_signed_in_the_carrier_and_a_coordinator_but_nobody_else(harbour):
    found, _address = by_link(harbour)
    page = f"/g/harbour/my-round/{found.uuid}/"
    graca = signed_in(harbour.cast.graca)
    assert graca.get("/g/harbour/my-round/").headers["Location"] == page
    assert graca.get(page).status_code == 200
    carla = signed_in(harbour.cast.carla)
    assert "You act for Graca" in carla.get(page).content.decode()
    stop = waiting(found)[0]
    carla.post(page, {"stop": stop.uuid, "do": "done", "client_key": uuid4()})
    event = stop.pickup.events.last()
    assert (event.by, event.acted_for) == (harbour.cast.carla, harbour.cast.graca)
    Round.unscoped.filter(pk=found.pk).update(
        carrier=Carrier.unscoped.create(
            group=harbour.cast.group,
            member=harbour.cast.heitor,
            account=harbour.cast.compost.account,
            start=harbour.carrier.start,
            end=harbour.carrier.start,
        )
    )
    assert graca.get(page).status_code == 403


def test_the_worker_is_a_script(harbour):
    answer = Client().get("/round-worker.js")
    assert answer["Content-Type"].startswith("text/javascript")


def test_a_home_sees_that_somebody_brings_it(harbour):
    harbour.announced()
    page = f"/g/harbour/my-day/homes/{harbour.cast.drum.code}/{harbour.on}/"
    shown = signed_in(harbour.cast.duarte).get(page).content.decode()
    assert "Graca brings it; you need not go" in shown
