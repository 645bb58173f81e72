"""A week's plan through the API: made, explained, changed, announced, exported, checked."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest

from apps.people.models import Member
from apps.planning.models import Plan
from apps.planning.verifier.verify import verify
from tests.api.caller import Caller
from tests.cast import Cast, make_cast
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def now_cast(db: None) -> Cast:
    """The neighbourhood as of today: the API plans from the real clock."""
    return make_cast(datetime.now(UTC))


@pytest.fixture
def bruno(now_cast: Cast) -> Caller:
    return Caller(now_cast.bruno)


@pytest.fixture
def version(bruno: Caller) -> int:
    made = bruno.post("/plans", {"days": 7})
    assert made.status_code == 201, made.data
    found: int = made.data["version"]
    return found


def test_a_plan_is_made_once_for_its_key(bruno: Caller) -> None:
    first = bruno.post("/plans", {}, key="monday")
    again = bruno.post("/plans", {}, key="monday")
    assert again.data == first.data
    assert Plan.unscoped.count() == 1
    assert first.data["wishes"][0]["name"] == "below_minimum_vs_g"
    assert all(wish["value"] >= wish["bound"] for wish in first.data["wishes"])
    assert first.data["provenance"]["input_hash"] == first.data["input_hash"]
    assert first.data["status"] == "draft"


def test_its_rows_can_be_read_and_add_up(bruno: Caller, version: int) -> None:
    rows = bruno.get(f"/plans/{version}/assignments").data["results"]
    document = bruno.get(f"/plans/{version}/file?form=json").data
    assert sum(row["amount_g"] for row in rows) == sum(
        row["amount_g"] for row in document["placements"]
    )
    on, source = rows[0]["on"], rows[0]["source"]
    some = bruno.get(f"/plans/{version}/assignments?on={on}&source={source}").data["results"]
    assert some == [row for row in rows if (row["on"], row["source"]) == (on, source)]
    for feed in bruno.get(f"/plans/{version}/daily-feeds").data["results"]:
        assert feed["feed_g"] <= feed["max_feed_g"]
        assert feed["feed_vs_g"] <= feed["max_vs_g"]
    left = bruno.get(f"/plans/{version}/left-overs").data["results"]
    assert left
    assert all(row["reason"]["sentence"] for row in left)


def test_it_tells_why(bruno: Caller, version: int) -> None:
    row = bruno.get(f"/plans/{version}/assignments").data["results"][0]
    why = bruno.get(f"/assignments/{row['uuid']}")
    assert why.status_code == 200
    assert why.data["sentences"][0]
    left = bruno.get(f"/plans/{version}/left-overs").data["results"][0]
    why = bruno.get(f"/left-overs/{left['uuid']}")
    assert why.data["sentences"][0]
    notices = bruno.get(f"/plans/{version}/source-notices").data["results"]
    assert {row["source"] for row in notices} <= {"quay-stall", "school-canteen", "ines-garden"}
    assert all(row["sentences"] for row in notices)


def test_it_is_announced_whole_and_once(bruno: Caller, version: int, now_cast: Cast) -> None:
    said = bruno.post(f"/plans/{version}/announcement")
    assert said.status_code == 200, said.data
    assert said.data["status"] == "announced"
    assert said.data["announced_by"] == "bruno"
    again = bruno.post(f"/plans/{version}/announcement")
    assert (again.status_code, again.data["code"]) == (409, "not_a_draft")
    assert Caller(now_cast.carla).post(f"/plans/{version}/announcement").status_code == 403


def test_a_draft_of_other_figures_is_not_announced(
    bruno: Caller, version: int, now_cast: Cast
) -> None:
    on = (now_cast.today + timedelta(days=1)).isoformat()
    offer = {"stream": "quay-vegetables", "on": on, "amount_g": 0}
    assert Caller(now_cast.filipe).post("/offers", offer).status_code == 201
    refused = bruno.post(f"/plans/{version}/announcement")
    assert (refused.status_code, refused.data["code"]) == (409, "stale_draft")
    assert refused.data["figures"]["changes"]


def test_the_exported_document_passes_the_independent_verifier(bruno: Caller, version: int) -> None:
    response = bruno.get(f"/plans/{version}/file")
    assert verify(json.loads(response.content)) == []
    assert "attachment" in response["Content-Disposition"]
    assert bruno.get(f"/plans/{version}/verification").data == {
        "is_sound": True,
        "violations": [],
    }
    assert bruno.get(f"/plans/{version}/file?form=csv").content[:2] == b"PK"
    again = bruno.post(f"/plans/{version}/reproduction").data
    assert again["is_same"] is True


def test_pins_bans_and_what_they_would_do(bruno: Caller, version: int) -> None:
    row = bruno.get(f"/plans/{version}/assignments").data["results"][0]
    ban = {"source": row["source"], "digester": row["digester"]}
    seen = bruno.post(f"/plans/{version}/preview", {"bans": [ban]})
    assert seen.status_code == 200, seen.data
    assert seen.data["effects"]
    assert seen.data["better"] == []
    around = bruno.post(f"/plans/{version}/preview", {"bans": [ban], "better": True})
    assert around.data["better"]
    pin = {
        "stream": row["stream"],
        "batch_on": row["batch_on"],
        "digester": row["digester"],
        "on": row["on"],
    }
    made = bruno.post("/pins", pin)
    assert made.status_code == 201, made.data
    refused = bruno.post("/bans", ban)
    assert (refused.status_code, refused.data["code"]) == (422, "ban_refused")
    assert bruno.call("DELETE", f"/pins/{made.data['uuid']}").status_code == 204
    banned = bruno.post("/bans", ban)
    assert banned.status_code == 201
    assert bruno.get("/bans").data["count"] == 1
    assert bruno.call("DELETE", f"/bans/{banned.data['uuid']}").status_code == 204


def test_an_assignment_is_changed_and_dropped_as_a_wish(bruno: Caller, version: int) -> None:
    row = bruno.get(f"/plans/{version}/assignments").data["results"][0]
    where = f"/assignments/{row['uuid']}"
    changed = bruno.call("PATCH", where, {"amount_g": row["amount_g"]})
    assert changed.status_code == 200, changed.data
    assert changed.data["amount_g"] == row["amount_g"]
    dropped = bruno.call("DELETE", where)
    assert dropped.status_code == 200
    assert dropped.data["on"] == row["on"]
    assert bruno.get("/pins").data["count"] == 0
    assert bruno.get("/bans").data["count"] == 1


def test_there_is_no_such_plan(bruno: Caller) -> None:
    for version in (1, 10**9, 10**19, 10**40):
        missing = bruno.get(f"/plans/{version}")
        assert (missing.status_code, missing.data["code"]) == (404, "no_plan")
    refused = bruno.post("/plans", {"starts_on": "2020-01-01"})
    assert refused.status_code == 422
    assert refused.data["errors"][0]["field"] == "starts_on"


@pytest.mark.parametrize("name", ["carla", "ana", "duarte"])
def test_only_the_assigner_makes_plans(now_cast: Cast, name: str) -> None:
    member: Member = getattr(now_cast, name)
    assert Caller(member).post("/plans", {}).status_code == 403
