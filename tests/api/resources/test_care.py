"""Concerns, going away, a new digester's start, outflow, pails and foreign matter."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from apps.digesters.models import Concern
from apps.digesters.operations.raise_concern import MOST_PER_HOUR
from apps.ledger.models import Liquid, LiquidKind
from apps.notices.models import CalendarFeed, Notice
from apps.pickups.models import PailEvent, Pickup, StreamPause
from apps.pickups.operations.note_pail import save_pail
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.places.models import Absence
from tests.api.caller import Caller
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db

CONCERNS = "/api/v1/groups/harbour/concerns"
DRUM = "/digesters/duarte-drum"


@pytest.fixture
@remembered
def cast(db: None) -> Cast:
    return make_cast(datetime.now(UTC) - timedelta(seconds=2), history_days=0)


def report(body: dict[str, Any], key: str = "") -> Any:
    """By somebody without an account."""
    headers = {"Idempotency-Key": key or uuid4().hex}
    return Client().post(CONCERNS, body, content_type="application/json", headers=headers)


def test_anybody_reports_a_smell_of_gas_and_reads_what_to_do(cast: Cast) -> None:
    body = {"place": "duarte-home", "kind": "gas_smell"}
    first, again = report(body, "tap"), report(body, "tap")
    assert first.status_code == 201
    assert first.json() == again.json()
    assert Concern.objects.of(cast.group).count() == 1
    said = " ".join(first.json()["sentences"])
    assert cast.group.emergency_number in said
    assert "duarte" not in first.content.decode().lower()
    seen = Client().get(f"{CONCERNS}/{first.json()['uuid']}")
    assert seen.json()["sentences"] == first.json()["sentences"]
    assert report({**body, "place": "nowhere"}).status_code == 404
    # With gas in the air nothing is to be lit, and nothing may be fed.
    assert Caller(cast.duarte).get(f"{DRUM}/picture").data["not_to_light"]


def test_a_gas_smell_is_answered_by_a_coordinator_with_the_name_of_who_tested(cast: Cast) -> None:
    uuid = report({"place": "duarte-home", "kind": "gas_smell"}).json()["uuid"]
    carla = Caller(cast.carla)
    assert [row["place"] for row in carla.get("/concerns?is_open=true").data["results"]] == [
        "duarte-home"
    ]
    untested = carla.post(f"/concerns/{uuid}/answer", {"answer": "A loose nut."})
    assert (untested.status_code, untested.data["code"]) == (422, "not_tested")
    whole = {
        "answer": "A loose nut, tightened.",
        "tightness_tested_by": "Olga, gas fitter",
        "tightness_tested_on": cast.today.isoformat(),
    }
    assert Caller(cast.duarte).post(f"/concerns/{uuid}/answer", whole).status_code == 403
    assert Caller(cast.duarte).get("/concerns").status_code == 403
    assert carla.post(f"/concerns/{uuid}/answer", whole, key="tap").status_code == 200
    assert carla.post(f"/concerns/{uuid}/answer", whole, key="tap").status_code == 200
    over = carla.post(f"/concerns/{uuid}/answer", whole)
    assert (over.status_code, over.data["code"]) == (409, "already_closed")
    told = Client().get(f"{CONCERNS}/{uuid}").json()
    assert (told["answer"], told["sentences"]) == ("A loose nut, tightened.", [])
    assert "Olga" not in str(told)


def test_reports_are_limited_but_gas_is_always_taken(cast: Cast) -> None:
    Concern.unscoped.bulk_create(
        Concern(
            group=cast.group,
            place=cast.dome.place,
            kind="flies",
            raised_at=cast.now,
            deadline_at=cast.now,
            client_key=f"c{number}",
        )
        for number in range(MOST_PER_HOUR)
    )
    many = report({"place": "duarte-home", "kind": "leak"})
    assert (many.status_code, many.json()["code"]) == (429, "too_many_concerns")
    assert report({"place": "duarte-home", "kind": "gas_smell"}).status_code == 201


def test_a_household_goes_away_and_comes_back(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    first_on = cast.today + timedelta(days=5)
    body = {"first_on": first_on.isoformat(), "last_on": first_on.isoformat()}
    gone = duarte.post(f"{DRUM}/absences", body, key="tap")
    assert gone.status_code == 201
    assert gone.data["absence"]["place"] == "duarte-home"
    assert any("relief" in each for each in gone.data["advice"])
    assert duarte.post(f"{DRUM}/absences", body, key="tap").data == gone.data
    assert Absence.objects.of(cast.group).count() == 1
    assert Caller(cast.elsa).post(f"{DRUM}/absences", body).status_code == 404
    back = f"/absences/{gone.data['absence']['uuid']}"
    assert duarte.call("DELETE", back).status_code == 204


def test_a_new_digester_is_led_step_by_step(cast: Cast) -> None:
    cast.drum.stage, cast.drum.stage_since_on = "dry", cast.today - timedelta(days=2)
    cast.drum.save()
    cast.drum.stage_changes.all().delete()
    duarte, today = Caller(cast.duarte), cast.today.isoformat()
    guide = duarte.get(f"{DRUM}/start-up").data
    assert guide["due"] == "tight"
    assert guide["not_to_light"]
    assert all(step["caution"] and step["source"] for step in guide["steps"])
    early = duarte.post(f"{DRUM}/start-up/steps", {"step": "seed", "on": today})
    assert (early.status_code, early.data["code"]) == (422, "step_not_yet")
    # 2 % of 1500 L in a day is 30 L: GTZ 1989 s. 7.1
    body = {"step": "tight", "on": today, "lost_ml": 30_000}
    assert duarte.post(f"{DRUM}/start-up/steps", body).status_code == 422
    body["lost_ml"] = 20_000
    taken = duarte.post(f"{DRUM}/start-up/steps", body, key="tap")
    assert taken.status_code == 201, taken.data
    assert duarte.post(f"{DRUM}/start-up/steps", body, key="tap").data == taken.data
    assert duarte.get(f"{DRUM}/start-up").data["due"] == "seed"
    assert Caller(cast.elsa).get(f"{DRUM}/start-up").status_code == 404


def test_outflow_is_recorded_with_its_water_and_cautions(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    advice = duarte.get("/dilutions?can_ml=7000").data
    parts = {row["use"]: (row["outflow_ml"], row["water_ml"]) for row in advice["dilutions"]}
    # common practice, no source: roof gardens one to six
    assert parts["roof_garden"] == (1_000, 6_000)
    assert len(advice["cautions"]) >= 4
    body = {"amount_ml": 2_000, "use": "trees"}
    out = duarte.post(f"{DRUM}/outflows", body, key="tap")
    assert (out.status_code, out.data["water_ml"]) == (201, 6_000)
    assert duarte.post(f"{DRUM}/outflows", body, key="tap").data == out.data
    poured = Liquid.unscoped.filter(group=cast.group, kind=LiquidKind.OUTFLOW)
    assert [each.amount_ml for each in poured] == [2_000]
    assert Caller(cast.elsa).post(f"{DRUM}/outflows", body).status_code == 404


def test_pails_are_numbered_noted_and_weighed(cast: Cast) -> None:
    carla, duarte = Caller(cast.carla), Caller(cast.duarte)
    assert duarte.put("/pails/12", {"tare_g": 900}).status_code == 403
    made = carla.put("/pails/12", {"tare_g": 900, "owner": "duarte"})
    assert (made.status_code, made.data["volume_ml"]) == (200, 10_000)
    note = {"step": "brought", "source": "quay-stall"}
    brought = duarte.post("/pails/12/notes", note, key="tap")
    assert brought.data["at_source"] == "quay-stall"
    duarte.post("/pails/12/notes", note, key="tap")
    assert PailEvent.objects.of(cast.group).count() == 1
    assert duarte.get("/pails?is_missing=true").data["count"] == 0
    duarte.post("/pails/12/notes", {"step": "missing"})
    assert [row["code"] for row in duarte.get("/pails?is_missing=true").data["results"]] == ["12"]
    # 12.4 kg gross, tare 0.9, 1.5 kg of foreign matter: 11.5 collected, 10.0 delivered
    net = duarte.post("/pails/12/weighing", {"gross_g": 12_400, "foreign_g": 1_500})
    assert net.data == {"collected_g": 11_500, "delivered_g": 10_000, "set_aside_g": 1_500}
    light = duarte.post("/pails/12/weighing", {"gross_g": 100})
    assert (light.status_code, light.data["code"]) == (422, "pail_refused")
    assert Caller(cast.outsider).get("/api/v1/groups/harbour/pails").status_code == 404


def test_foreign_matter_is_noted_at_a_pickup_and_a_stream_comes_back_after_a_trial(
    cast: Cast,
) -> None:
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)]), now=cast.now)
    pickup = Pickup.objects.of(cast.group).get()
    duarte, carla = Caller(cast.duarte), Caller(cast.carla)
    finds = f"/pickups/{pickup.uuid}/foreign-matter"
    body = {"stream": "quay-vegetables", "kind": "glass", "amount_g": 200}
    found = duarte.post(finds, body, key="tap")
    assert (found.status_code, found.data["advice"]) == (201, "nothing")
    assert duarte.post(finds, body, key="tap").data == found.data
    assert duarte.post(finds, {**body, "stream": "ines-grass"}).status_code == 422
    assert Caller(cast.elsa).post(finds, body).status_code == 404
    assert [row["amount_g"] for row in carla.get("/foreign-matter").data["results"]] == [200]
    quay = "/streams/quay-vegetables"
    assert duarte.post(f"{quay}/pause", {"reason": "Glass."}).status_code == 403
    assert carla.post(f"{quay}/pause", {"reason": "Glass."}).status_code == 201
    assert carla.post(f"{quay}/pause", {"reason": "Glass."}).status_code == 409
    assert carla.post(f"{quay}/trial", {"is_clean": True}).data["is_clean"] is True
    assert StreamPause.objects.of(cast.group).filter(ended_at=None).count() == 0


def test_a_calendars_address_is_told_once_and_ended(cast: Cast) -> None:
    graca = Caller(cast.graca)
    address = graca.post("/calendar").data["address"]
    assert address.endswith(".ics")
    assert graca.post("/calendar").data["address"] != address
    assert CalendarFeed.objects.of(cast.group).filter(ended_at=None).count() == 1
    assert graca.call("DELETE", "/calendar").status_code == 204
    assert CalendarFeed.objects.of(cast.group).filter(ended_at=None).count() == 0


def test_notices_are_ones_own(cast: Cast) -> None:
    for member in (cast.duarte, cast.elsa):
        Notice.unscoped.create(
            group=cast.group, member=member, kind="overfed", subject="s", made_at=cast.now
        )
    rows = Caller(cast.duarte).get("/notices").data
    assert rows["count"] == 1
    assert rows["results"][0]["state"] == "waiting"
    assert Caller(cast.graca).get("/notices").data["count"] == 0


def test_a_pail_of_another_group_is_not_there(cast: Cast) -> None:
    save_pail(cast.other_group, code="99", tare_g=900)
    carla = Caller(cast.carla)
    assert carla.get("/pails/99").status_code == 404
    assert carla.post("/pails/99/notes", {"step": "washed"}).status_code == 404
