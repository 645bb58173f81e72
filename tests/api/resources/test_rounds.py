"""Rounds through the API: who carries, building, changing, walking, and who may do what."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine

from apps.places.models import Place
from apps.rounds.operations.save_carrier import save_carrier
from tests.api.caller import Caller
from tests.rounds.harbour import Harbour, make_harbour

pytestmark = pytest.mark.django_db

CARRIER = {
    "load_limit_g": 50_000,
    "start": "allotments",
    "from_min": 480,
    "till_min": 780,
    "rest": {"from_min": 540, "till_min": 660, "length_min": 15},
    "avoids": ["ines"],
}


@pytest.fixture
def harbour() -> Any:
    """The evening before."""
    made = make_harbour()
    with time_machine.travel(made.cast.now, tick=False) as clock:
        made.clock = clock  # type: ignore[attr-defined]
        yield made


def build(harbour: Harbour) -> Any:
    answer = Caller(harbour.cast.bruno).post(
        "/rounds", {"carrier": "graca", "on": harbour.on.isoformat()}
    )
    assert answer.status_code == 201, answer.data
    return answer.data


def test_how_somebody_carries(harbour: Harbour) -> None:
    bruno = Caller(harbour.cast.bruno)
    kept = bruno.put("/carriers/graca", CARRIER)
    assert kept.status_code == 200, kept.data
    assert (kept.data["end"], kept.data["rest"]["length_min"]) == ("allotments", 15)
    assert bruno.get("/carriers").data["results"][0]["avoids"] == ["ines"]
    assert bruno.put("/carriers/duarte", CARRIER).status_code == 404
    refused = bruno.put("/carriers/graca", {**CARRIER, "from_min": 780})
    assert (refused.status_code, refused.data["code"]) == (422, "carrier_unfit")


def test_a_round_from_building_to_its_first_stops(harbour: Harbour) -> None:
    bruno, graca = Caller(harbour.cast.bruno), Caller(harbour.cast.graca)
    made = build(harbour)
    where = f"/rounds/{made['uuid']}"
    assert [stop["number"] for stop in made["stops"]] == list(range(1, 7))
    assert made["left"] == made["cautions"] == []
    assert made["figures"]["own"]["people"] == 2
    assert bruno.get(f"{where}/verdict").data == {"is_sound": True, "violations": []}
    assert graca.get(where).status_code == 404
    assert bruno.post(f"{where}/announcement", {}).data["state"] == "announced"
    assert graca.get(where).status_code == 200

    harbour.clock.move_to(harbour.then)  # type: ignore[attr-defined]
    first = made["stops"][0]["uuid"]
    told = {"happened_at": (harbour.then - timedelta(minutes=20)).isoformat()}
    for _time in range(2):
        done = graca.post(f"{where}/stops/{first}/done", told, key="one")
        assert done.status_code == 200, done.data
    stop = next(each for each in done.data["stops"] if each["uuid"] == first)
    assert stop["state"] == "done"
    assert datetime.fromisoformat(stop["happened_at"]) == harbour.then - timedelta(minutes=20)
    twice = graca.post(f"{where}/stops/{first}/done", {})
    assert (twice.status_code, twice.data["code"]) == (409, "stop_refused")
    second = next(s for s in made["stops"] if s["side"] == "fetch" and s["uuid"] != first)
    failed = graca.post(f"{where}/stops/{second['uuid']}/problem", {"reason": "nothing_there"})
    assert failed.status_code == 200, failed.data
    assert graca.post(f"{where}/replanning").data["version"] > made["version"]


def test_stops_are_promised_and_moved_by_whoever_plans(harbour: Harbour) -> None:
    bruno = Caller(harbour.cast.bruno)
    made = build(harbour)
    where = f"/rounds/{made['uuid']}"
    last = made["stops"][-1]
    locked = bruno.post(f"{where}/stops/{last['uuid']}/lock", {"is_locked": True}).data
    assert locked["stops"][-1]["locked_s"] == last["begin_s"]
    refused = bruno.post(f"{where}/stops/{last['uuid']}/move", {"to_number": 1})
    assert (refused.status_code, refused.data["code"]) == (422, "order_impossible")
    assert bruno.post(f"{where}/dropping").data["state"] == "dropped"


def test_nobody_walks_another_persons_round(harbour: Harbour) -> None:
    made = build(harbour)
    where = f"/rounds/{made['uuid']}"
    Caller(harbour.cast.bruno).post(f"{where}/announcement", {})
    harbour.clock.move_to(harbour.then)  # type: ignore[attr-defined]
    stop = made["stops"][0]["uuid"]
    assert Caller(harbour.cast.duarte).post(f"{where}/stops/{stop}/done", {}).status_code == 403
    there = f"/api/v1/groups/harbour{where}/stops/{stop}/done"
    assert Caller(harbour.cast.outsider).post(there, {}).status_code == 404
    done = Caller(harbour.cast.carla).post(f"{where}/stops/{stop}/done", {})
    assert done.status_code == 200


def test_several_carriers_share_a_day_and_each_round_is_a_file(harbour: Harbour) -> None:
    bruno = Caller(harbour.cast.bruno)
    start = Place.objects.of(harbour.cast.group).get(code="school")
    save_carrier(harbour.cast.group, harbour.cast.elsa, start=start, load_limit_g=6_000)
    body = {"carriers": ["graca", "elsa"], "on": harbour.on.isoformat()}
    made = bruno.post("/rounds/together", body)
    assert made.status_code == 201, made.data
    carried = [
        (round_["carrier"], stop["source"], stop["digester"])
        for round_ in made.data["rounds"]
        for stop in round_["stops"]
        if stop["side"] == "fetch"
    ]
    assert len(carried) == len({each[1:] for each in carried}) == 3
    for round_ in made.data["rounds"]:
        where = f"/rounds/{round_['uuid']}"
        assert bruno.get(f"{where}/verdict").data["is_sound"]
        file = bruno.get(f"{where}/document")
        assert file["Content-Type"] == "application/json"
        assert json.loads(file.content)["carriers"][0]["code"] == round_["carrier"]
        assert Caller(harbour.cast.graca).get(f"{where}/document").status_code == 403
