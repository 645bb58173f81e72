"""What a group keeps: read, made and changed by code; pages, filters, versions, addresses."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.core import mail

from apps.groups.models import Fact, Group
from apps.people.models import Invitation
from tests.api.caller import Caller
from tests.cast import Cast

pytestmark = pytest.mark.django_db

PLACE = {
    "name": "Corner",
    "street": "Corner Lane 2",
    "latitude": 38.5,
    "longitude": -9.0,
    "hours": [{"weekday": 0, "opens_min": 480, "closes_min": 720}],
}


def test_a_group_is_founded_by_whoever_is_signed_in(cast: Cast) -> None:
    body = {"code": "river", "name": "River quarter", "time_zone": "Europe/Lisbon"}
    caller = Caller(cast.duarte)
    made = caller.post("/api/v1/groups", body)
    assert made.status_code == 201
    # A token is for one group; the session sees the new one.
    assert caller.get("/api/v1/groups/river").status_code == 404
    caller.client.defaults.pop("HTTP_AUTHORIZATION")
    caller.client.headers = {}
    caller.client.force_login(cast.duarte.user)
    mine = caller.client.get("/api/v1/me").json()["memberships"]
    assert [(row["group"], row["roles"]) for row in mine] == [
        ("harbour", ["householder"]),
        ("river", ["group_admin"]),
    ]
    again = Caller(cast.duarte).post("/api/v1/groups", body)
    assert (again.status_code, again.data["code"]) == (409, "code_taken")


def test_the_groups_choices_change_as_sent(cast: Cast) -> None:
    ana = Caller(cast.ana)
    assert ana.call("PATCH", "", {"reach_m": 900}).data["reach_m"] == 900
    assert Group.objects.get(code="harbour").name == "Harbour quarter"
    refused = ana.call("PATCH", "", {"time_zone": "Mars/Base"})
    assert refused.status_code == 422
    assert refused.data["errors"][0]["field"] == "time_zone"


def test_a_place_is_made_and_changed_by_code(cast: Cast) -> None:
    ana = Caller(cast.ana)
    made = ana.put("/places/corner", PLACE)
    assert made.status_code == 200
    assert made.data["hours"] == PLACE["hours"]
    assert made.data["address"]["street"] == "Corner Lane 2"
    overlap = [{"weekday": 0, "opens_min": 0, "closes_min": 60}] * 2
    refused = ana.put("/places/corner", {**PLACE, "hours": overlap})
    assert (refused.status_code, refused.data["code"]) == (422, "hours_overlap")
    assert len(ana.get("/places/corner").data["hours"]) == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"latitude": 91}, "latitude"),
        ({"latitude": "here"}, "latitude"),
        ({"name": "x" * 10_000}, "name"),
        ({"name": "a\x00b"}, "name"),
        ({"is_public": "yes"}, "is_public"),
        ({"colour": "red"}, "colour"),
        ({"hours": [{"weekday": 7, "opens_min": 0, "closes_min": 1}]}, "hours.0.weekday"),
    ],
)
def test_a_place_that_cannot_be_is_refused(cast: Cast, change: dict[str, Any], field: str) -> None:
    answer = Caller(cast.ana).put("/places/corner", {**PLACE, **change})
    assert answer.status_code == 422
    assert answer.data["errors"][0]["field"] == field
    assert Caller(cast.ana).get("/places/corner").status_code == 404


def test_a_stale_edit_is_refused(cast: Cast) -> None:
    ana = Caller(cast.ana)
    ana.put("/places/corner", PLACE)
    tag = ana.get("/places/corner")["ETag"]
    kept = ana.put("/places/corner", {**PLACE, "name": "New"}, headers={"If-Match": tag})
    assert kept.status_code == 200
    stale = ana.put("/places/corner", {**PLACE, "name": "Old"}, headers={"If-Match": tag})
    assert (stale.status_code, stale.data["code"]) == (412, "stale")
    assert ana.get("/places/corner").data["name"] == "New"
    absent = ana.put("/places/none", PLACE, headers={"If-Match": "*"})
    assert absent.status_code == 412
    roles = ana.put("/members/graca/roles", {"roles": ["carrier"]}, headers={"If-Match": "*"})
    assert (roles.status_code, roles.data["code"]) == (422, "no_versions")


def test_exact_addresses_are_hidden_from_who_does_not_need_them(cast: Cast) -> None:
    seen = Caller(cast.bruno).get("/places/duarte-home").data["address"]
    assert seen["is_exact"] is False
    assert seen["street"] is None
    assert seen["access_note"] is None
    assert (seen["latitude"], seen["longitude"]) != (
        float(cast.drum.place.latitude),
        float(cast.drum.place.longitude),
    )
    assert Caller(cast.bruno).get("/places/quay").data["address"]["street"] == "Quay Lane 1"
    assert Caller(cast.ana).get("/places/duarte-home").data["address"]["is_exact"] is True


def test_a_coordinator_opens_an_address_and_it_is_written_down(cast: Cast) -> None:
    carla = Caller(cast.carla)
    opened = carla.post("/places/duarte-home/address-openings", {"reason": "Gas smell reported."})
    assert opened.status_code == 201
    assert "Duarte-home Lane 1" in opened.data["address"]
    fact = Fact.objects.of(cast.group).get(kind="address_opened")
    assert fact.actor_uuid == cast.carla.uuid
    assert (
        Caller(cast.bruno).post("/places/quay/address-openings", {"reason": "x"}).status_code == 403
    )


def test_sources_streams_destinations_and_materials_are_kept(cast: Cast) -> None:
    ana = Caller(cast.ana)
    ana.put("/places/corner", PLACE)
    source = {"name": "Corner shop", "kind": "shop", "place": "corner"}
    assert ana.put("/sources/corner-shop", source).data["streams"] == []
    stream = {"source": "corner-shop", "material": "grass", "weekday_g": [1000] * 7}
    assert ana.put("/streams/corner-grass", stream).data["weekday_g"] == [1000] * 7
    assert ana.put("/streams/corner-grass", {**stream, "weekday_g": [1]}).status_code == 422
    heap = {"name": "Heap", "place": "corner", "capacity_g_per_day": 5000}
    assert ana.put("/destinations/heap", heap).data["place"] == "corner"
    leaves = {
        "name": "Our leaves",
        "figures": [{"quantity": "ts_pct_wet", "value": 30.5, "source": "Oven, May 2026"}],
    }
    made = ana.put("/materials/our-leaves", leaves).data
    assert [(row["value"], row["evidence"]) for row in made["figures"]] == [(30.5, "measured")]
    shops = ana.get("/sources?kind=shop").data["results"]
    assert [row["code"] for row in shops] == ["corner-shop"]


def test_a_published_material_stays_as_published(cast: Cast) -> None:
    refused = Caller(cast.ana).put("/materials/grass", {"name": "Mine"})
    assert refused.status_code == 422
    assert refused.data["errors"][0]["field"] == "code"
    grass = Caller(cast.graca).get("/materials/grass").data
    assert all(figure["source"] and figure["evidence"] for figure in grass["figures"])


def test_an_offer_replaces_the_forecast_and_an_unusual_one_is_asked_again(cast: Cast) -> None:
    filipe = Caller(cast.filipe)
    on = (datetime.now(UTC).date() + timedelta(days=1)).isoformat()
    body = {"stream": "quay-vegetables", "on": on, "amount_g": 5000}
    assert filipe.post("/offers", body).status_code == 201
    asked = filipe.post("/offers", {**body, "amount_g": 90_000})
    assert (asked.status_code, asked.data["code"]) == (409, "unusual_offer")
    sure = filipe.post("/offers", {**body, "amount_g": 90_000, "is_confirmed": True})
    assert sure.data["amount_g"] == 90_000
    # Not the own source.
    assert filipe.post("/offers", {**body, "stream": "ines-grass"}).status_code == 404
    assert [row["stream"] for row in filipe.get("/offers").data["results"]] == ["quay-vegetables"]


def test_absences_are_said_for_the_own_home(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    on = (datetime.now(UTC).date() + timedelta(days=3)).isoformat()
    body = {"place": "duarte-home", "first_on": on, "last_on": on, "keyholder": "elsa"}
    made = duarte.post("/absences", body)
    assert made.status_code == 201
    assert duarte.post("/absences", {**body, "place": "elsa-home"}).status_code == 404
    assert Caller(cast.elsa).get("/absences").data["count"] == 0
    assert duarte.call("DELETE", f"/absences/{made.data['uuid']}").status_code == 204
    assert duarte.get("/absences").data["count"] == 0


def test_an_invitation_goes_out_by_mail_and_its_link_nowhere_else(
    cast: Cast, django_capture_on_commit_callbacks: Any
) -> None:
    body = {"email": "Nova@Example.org", "name": "Nova", "roles": ["carrier"]}
    ana = Caller(cast.ana)
    with django_capture_on_commit_callbacks(execute=True):
        made = ana.post("/invitations", body, key="k")
        again = ana.post("/invitations", body, key="k")
    assert made.status_code == again.status_code == 201
    assert Invitation.unscoped.count() == 1
    assert [message.to for message in mail.outbox] == [["nova@example.org"]]
    assert "token" not in made.content.decode()
    member = ana.get(f"/members/{made.data['member']}").data
    assert (member["roles"], member["has_account"]) == (["carrier"], False)


def test_roles_change_and_membership_ends(cast: Cast) -> None:
    ana = Caller(cast.ana)
    assert ana.put("/members/graca/roles", {"roles": ["carrier", "assigner"]}).data["roles"] == [
        "assigner",
        "carrier",
    ]
    last = ana.put("/members/founder/roles", {"roles": ["carrier"]})
    assert (last.status_code, last.data["code"]) == (409, "last_administrator")
    assert ana.call("DELETE", "/members/graca").status_code == 204
    assert ana.call("DELETE", "/members/graca").status_code == 404


def test_mail_addresses_of_members_are_the_administrators_alone(cast: Cast) -> None:
    emails = {row["email"] for row in Caller(cast.carla).get("/members").data["results"]}
    assert emails == {None}
    assert "duarte@example.org" in {
        row["email"] for row in Caller(cast.ana).get("/members").data["results"]
    }


def test_pages_of_a_list(cast: Cast) -> None:
    ana = Caller(cast.ana)
    first = ana.get("/materials?page_size=5").data
    assert len(first["results"]) == 5
    codes = [
        row["code"]
        for page in range(1, first["pages"] + 1)
        for row in ana.get(f"/materials?page_size=5&page={page}").data["results"]
    ]
    assert len(codes) == first["count"] == len(set(codes))
    assert codes == sorted(codes)
    past = ana.get(f"/materials?page_size=5&page={first['pages'] + 1}")
    assert (past.status_code, past.data["code"]) == (404, "no_such_page")


@pytest.mark.parametrize(
    "query", ["page=0", "page=1_0", "page=x", "page_size=501", "pge=1", "is_active=1", "page=٣"]
)
def test_a_question_that_is_not_understood_is_refused(cast: Cast, query: str) -> None:
    assert Caller(cast.ana).get(f"/materials?{query}").status_code == 422


def test_another_groups_things_are_not_there(cast: Cast) -> None:
    """Its codes and identifiers inside one's own addresses, and in bodies."""
    zita = Caller(cast.outsider)
    for address in (
        "/places/quay",
        "/sources/quay-stall",
        "/streams/quay-citrus",
        "/destinations/allotment-compost",
        "/digesters/duarte-drum",
        "/digesters/duarte-drum/readings",
        "/digesters/duarte-drum/feedings",
        "/digesters/duarte-drum/limits",
        "/members/duarte",
    ):
        assert zita.get(address).status_code == 404, address
    heap = {"name": "Heap", "place": "quay", "capacity_g_per_day": 5000}
    refused = zita.put("/destinations/heap", heap)
    assert refused.status_code == 422
    assert refused.data["errors"][0]["field"] == "place"
