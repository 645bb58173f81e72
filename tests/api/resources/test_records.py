"""Feedings, readings, stages and limits: written down once, taken back, never edited."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from apps.feedstock.models import Measure
from apps.groups.models import Fact
from apps.ledger.models import Posting
from tests.api.caller import Caller
from tests.cast import Cast

pytestmark = pytest.mark.django_db

DRUM = "/digesters/duarte-drum"


@pytest.fixture
def an_hour_ago() -> str:
    return (datetime.now(UTC) - timedelta(hours=1)).isoformat().replace("+00:00", "Z")


def feeding(at: str, **more: Any) -> dict[str, Any]:
    """Confirmed: on the real clock the cast has not been fed for long, and takes little."""
    return {
        "is_confirmed": True,
        "happened_at": at,
        "from_bin": [{"material": "grass", "amount_g": 1200}],
        "own_waste": [{"material": "household_kitchen", "amount_g": 500}],
        "water_ml": 3000,
        **more,
    }


def test_a_feeding_is_recorded_and_listed(cast: Cast, an_hour_ago: str) -> None:
    duarte = Caller(cast.duarte)
    made = duarte.post(f"{DRUM}/feedings", feeding(an_hour_ago, note="Rainy"))
    assert made.status_code == 201
    assert made.data["portions"] == [
        {"material": "grass", "amount_g": 1200},
        {"material": "household_kitchen", "amount_g": 500},
    ]
    assert made.data["water_ml"] == 3000
    assert made.data["note"] == "Rainy"
    listed = duarte.get(f"{DRUM}/feedings?first_on={made.data['on']}")
    assert listed.data["results"] == [made.data]


def test_taking_a_feeding_back_mirrors_it_once(cast: Cast, an_hour_ago: str) -> None:
    duarte = Caller(cast.duarte)
    made = duarte.post(f"{DRUM}/feedings", feeding(an_hour_ago)).data
    where = f"{DRUM}/feedings/{made['uuid']}/reversal"
    back = duarte.post(where, {"reason": "Counted the pail twice."})
    assert back.status_code == 201
    assert [portion["amount_g"] for portion in back.data["portions"]] == [-1200, -500]
    assert back.data["water_ml"] == -3000
    again = duarte.post(where, {"reason": "Once more."})
    assert (again.status_code, again.data["code"]) == (409, "cannot_reverse")


def test_a_householder_writes_at_the_own_digester_only(cast: Cast, an_hour_ago: str) -> None:
    elsa = Caller(cast.elsa)
    assert elsa.post(f"{DRUM}/feedings", feeding(an_hour_ago)).status_code == 404
    assert elsa.get(f"{DRUM}/feedings").status_code == 404
    assert [row["digester"]["code"] for row in elsa.get("/digesters").data["results"]] == [
        "elsa-dome"
    ]
    assert Caller(cast.carla).post(f"{DRUM}/feedings", feeding(an_hour_ago)).status_code == 201


def test_an_over_feed_is_asked_again_with_its_danger_then_recorded(
    cast: Cast, an_hour_ago: str
) -> None:
    heap = [{"material": "grass", "amount_g": 2_000_000}]
    body = feeding(an_hour_ago, from_bin=heap, is_confirmed=False)
    duarte, before = Caller(cast.duarte), Posting.unscoped.count()
    asked = duarte.post(f"{DRUM}/feedings", body, key="one")
    assert (asked.status_code, asked.data["code"]) == (409, "over_feeding")
    # the most of a day is named, and what it does: sour for weeks
    assert asked.data["figures"]["most"] in asked.data["detail"]
    assert "sours" in asked.data["detail"]
    assert Posting.unscoped.count() == before
    done = duarte.post(f"{DRUM}/feedings", {**body, "is_confirmed": True}, key="one")
    assert done.status_code == 201
    assert Fact.objects.of(cast.group).filter(kind="overfed").count() == 1


def test_a_feeding_in_own_measures(cast: Cast, an_hour_ago: str) -> None:
    for code, volume_ml in (("cup", 1_000), ("jug", 2_500)):
        Measure.unscoped.create(group=cast.group, code=code, name=code, volume_ml=volume_ml)
    duarte = Caller(cast.duarte)
    body = {
        "happened_at": an_hour_ago,
        "from_bin": [{"material": "grass", "measured": {"measure": "cup", "halves": 3}}],
        "water_measured": {"measure": "jug", "halves": 2},
        "is_confirmed": True,
    }
    made = duarte.post(f"{DRUM}/feedings", body)
    assert made.status_code == 201, made.data
    # three halves of 1 L at 1 kg/L, and one jug of 2.5 L
    assert made.data["portions"] == [{"material": "grass", "amount_g": 1_500}]
    assert made.data["water_ml"] == 2_500
    both = {"material": "grass", "amount_g": 5, "measured": {"measure": "cup", "halves": 1}}
    wrong = duarte.post(f"{DRUM}/feedings", {**body, "from_bin": [both]})
    assert (wrong.status_code, wrong.data["errors"][0]["field"]) == (422, "from_bin.0.amount_g")
    known = {row["code"]: row["volume_ml"] for row in duarte.get("/measures").data["results"]}
    assert known["cup"] == 1_000


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"from_bin": [{"material": "grass", "amount_g": -1}]}, "from_bin.0.amount_g"),
        ({"from_bin": [{"material": "grass", "amount_g": 0}]}, "from_bin.0.amount_g"),
        ({"from_bin": [{"material": "grass", "amount_g": "1200"}]}, "from_bin.0.amount_g"),
        ({"from_bin": [{"material": "grass", "amount_g": True}]}, "from_bin.0.amount_g"),
        ({"from_bin": [{"material": "grass", "amount_g": 2_000_001}]}, "from_bin.0.amount_g"),
        ({"from_bin": [{"material": "gold", "amount_g": 1}]}, "from_bin.0.material"),
        ({"from_bin": [{"material": "grass", "amount_g": 1}] * 2}, "from_bin"),
        ({"from_bin": [], "own_waste": [], "water_ml": 0}, ""),
        ({"water_ml": None}, "water_ml"),
        ({"happened_at": "2026-05-11 07:30"}, "happened_at"),
        ({"happened_at": "2026-02-30T07:30:00Z"}, "happened_at"),
        ({"note": "\u202ereversed"}, "note"),
        ({"note": "x" * 201}, "note"),
        ({"note": 5}, "note"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(
    cast: Cast, an_hour_ago: str, change: dict[str, Any], field: str
) -> None:
    before = Posting.unscoped.count()
    answer = Caller(cast.duarte).post(f"{DRUM}/feedings", feeding(an_hour_ago, **change))
    assert answer.status_code == 422
    assert answer.data["errors"][0]["field"] == field
    assert Posting.unscoped.count() == before


def test_a_feeding_that_has_not_happened_is_refused(cast: Cast) -> None:
    answer = Caller(cast.duarte).post(f"{DRUM}/feedings", feeding("2099-01-01T00:00:00Z"))
    assert (answer.status_code, answer.data["code"]) == (422, "in_the_future")


def test_a_sour_strip_stops_feeding_and_can_be_withdrawn(cast: Cast, an_hour_ago: str) -> None:
    duarte = Caller(cast.duarte)
    body = {"kind": "ph_hundredths", "value": 640, "taken_at": an_hour_ago}
    made = duarte.post(f"{DRUM}/readings", body)
    # design ruling: one strip below 6.5 stops feeding
    assert made.data["stops_feeding"] is True
    withdrawn = duarte.post(f"{DRUM}/readings/{made.data['uuid']}/withdrawal")
    assert withdrawn.status_code == 200
    assert withdrawn.data["withdrawn_at"]
    again = duarte.post(f"{DRUM}/readings/{made.data['uuid']}/withdrawal")
    assert (again.status_code, again.data["code"]) == (409, "already_withdrawn")
    listed = duarte.get(f"{DRUM}/readings?kind=ph_hundredths").data["results"]
    assert [row["uuid"] for row in listed] == [made.data["uuid"]]


def test_a_drum_above_its_stop_is_asked_again_then_stands_at_its_stop(
    cast: Cast, an_hour_ago: str
) -> None:
    duarte = Caller(cast.duarte)
    body = {"kind": "drum_height_mm", "value": 950, "taken_at": an_hour_ago}
    asked = duarte.post(f"{DRUM}/readings", body)
    assert (asked.status_code, asked.data["code"]) == (409, "drum_above_stop")
    # the cast's drum has its stop at 900 mm
    done = duarte.post(f"{DRUM}/readings", {**body, "is_confirmed": True})
    assert (done.status_code, done.data["value"]) == (201, 900)


def test_a_stage_is_changed_on_evidence(cast: Cast) -> None:
    carla = Caller(cast.carla)
    today = datetime.now(UTC).date().isoformat()
    body = {"stage": "paused", "on": today, "evidence": []}
    made = carla.post(f"{DRUM}/stages", body)
    assert made.status_code == 201
    assert made.data["stage"] == "paused"
    refused = carla.post(f"{DRUM}/stages", {"stage": "seeded", "on": today})
    assert (refused.status_code, refused.data["code"]) == (422, "stage_refused")
    assert [row["stage"] for row in carla.get(f"{DRUM}/stages").data["results"]][-1] == "paused"


def test_a_looser_limit_takes_a_second_person(cast: Cast) -> None:
    ana = Caller(cast.ana)
    body = {"limit_id": "feed_g", "value": 3000, "reason": "New household member."}
    tight = ana.post(f"{DRUM}/limit-tightenings", body)
    assert tight.status_code == 201
    wrong = ana.post(f"{DRUM}/limit-tightenings", {**body, "value": 4000})
    assert (wrong.status_code, wrong.data["code"]) == (422, "limit_refused")
    loose = ana.post(f"{DRUM}/limit-loosenings", {**body, "value": 4000})
    assert loose.data["confirmed_at"] is None
    alone = ana.post(f"{DRUM}/limit-changes/{loose.data['uuid']}/confirmation")
    assert (alone.status_code, alone.data["code"]) == (422, "second_person_needed")
    assert len(ana.get(f"{DRUM}/limit-changes").data["results"]) == 2


def test_limits_come_with_rule_and_source(cast: Cast) -> None:
    days = Caller(cast.duarte).get(f"{DRUM}/limits?days=3").data["results"]
    assert len(days) == 3
    for day in days:
        for quantity, most in (
            ("feed_g", day["max_feed_g"]),
            ("vs_g", day["max_vs_g"]),
            ("slurry_ml", day["max_slurry_ml"]),
        ):
            values = [row["value"] for row in day["limits"] if row["quantity"] == quantity]
            assert min(values) == most
        assert all(row["sentence"] and row["source"] for row in day["limits"])


def test_a_digester_tells_headroom_spare_capacity_and_the_rule_that_binds(cast: Cast) -> None:
    row = Caller(cast.carla).get("/digesters/elsa-dome").data
    assert 0 <= row["spare_g"] <= row["headroom_g"] <= row["max_feed_g"]
    assert row["binding"]["sentence"]
    assert row["binding"]["source"]
    assert len(row["days"]) == 21  # 14 days back, 7 ahead


def test_own_waste_and_refusals(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    said = duarte.post(
        f"{DRUM}/own-waste", {"material": "household_kitchen", "amount_g_per_day": 700}
    )
    assert said.data == {"material": "household_kitchen", "amount_g_per_day": 700}
    said = duarte.post(f"{DRUM}/refusals", {"material": "citrus_peel", "is_refused": True})
    assert said.status_code == 200
    assert cast.drum.refused.count() == 1
    duarte.post(f"{DRUM}/refusals", {"material": "citrus_peel", "is_refused": False})
    assert cast.drum.refused.count() == 0


def test_a_digester_is_taken_into_care(cast: Cast) -> None:
    body = {
        "code": "new-bag",
        "name": "New bag",
        "place": "ines",
        "kind": "bag",
        "stage_since_on": "2026-05-01",
        "working_volume_ml": 2_000_000,
        "rated_feed_g": 0,
        "rated_slurry_ml": 0,
    }
    ana = Caller(cast.ana)
    made = ana.post("/digesters", body)
    assert made.status_code == 201, made.data
    assert (made.data["stage"], made.data["place"]) == ("dry", "ines")
    # Nothing is known of its plate, so it gets no waste.
    assert ana.get("/digesters/new-bag").data["max_feed_g"] == 0
    again = ana.post("/digesters", body)
    assert (again.status_code, again.data["code"]) == (409, "code_taken")
    small = ana.post("/digesters", {**body, "code": "tiny", "working_volume_ml": 1})
    assert small.status_code == 422
