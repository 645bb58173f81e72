"""Pages: who sees what, how many statements they cost, what they say when something is wrong."""

from __future__ import annotations

from datetime import UTC, datetime
from io import BytesIO

import pytest
from django.core import mail
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.feedstock.core.published import read_published
from apps.groups.models import Fact
from apps.people.models import Member, SignInLink
from apps.people.operations.ask_for_sign_in import MOST_LINKS
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from apps.web.material_cautions import MATERIAL_CAUTIONS
from apps.web.names import MATERIAL_NAMES
from tests.cast import Cast, make_cast
from tests.remembered import remembered

STREET = "Duarte-home Lane 1"


def as_member(member: Member) -> Client:
    client = Client()
    assert member.user is not None
    client.force_login(member.user)
    return client


@pytest.fixture
@remembered
def live(db: None) -> Cast:
    """The cast as of now, with an announced plan for today and tomorrow."""
    now = datetime.now(UTC)
    cast = make_cast(now, history_days=10)
    announce_plan(make_plan(cast.group, now=now, starts_on=cast.today, days=2), now=now)
    return cast


def test_who_takes_on_a_role_stays_signed_in_here_and_nowhere_else(cast: Cast) -> None:
    here, elsewhere = as_member(cast.ana), as_member(cast.ana)
    sent = {"roles": ["group_admin", "coordinator", "assigner"]}
    assert here.post("/g/harbour/people/founder/", sent).status_code == 302
    assert "Saved what Ana does." in here.get("/g/harbour/people/").content.decode()
    assert here.get("/g/harbour/week/").status_code == 200
    assert elsewhere.get("/g/harbour/people/").status_code == 302


def test_a_stranger_is_told_the_same_as_a_member(cast: Cast) -> None:
    known = Client().post("/sign-in/", {"email": "duarte@example.org"}, follow=True)
    unknown = Client().post("/sign-in/", {"email": "nobody@example.org"}, follow=True)
    assert known.status_code == unknown.status_code == 200
    assert known.templates[0].name == unknown.templates[0].name == "web/sign_in_sent.html"
    assert [message.to for message in mail.outbox] == [["duarte@example.org"]]


def test_links_are_not_sent_without_end(cast: Cast) -> None:
    for _ in range(MOST_LINKS):
        Client().post("/sign-in/", {"email": "duarte@example.org"})
    answer = Client().post("/sign-in/", {"email": "duarte@example.org"})
    assert answer.status_code == 422
    assert "Look into your mail" in answer.content.decode()
    assert SignInLink.objects.count() == MOST_LINKS


def test_reading_a_link_changes_nothing_and_is_not_kept(cast: Cast) -> None:
    Client().post("/sign-in/", {"email": "duarte@example.org"})
    address = mail.outbox[0].body.split("http://127.0.0.1:8000")[1].split()[0]
    for method in ("get", "head"):
        answer = getattr(Client(), method)(address)
        assert answer.status_code == 200
        assert "no-store" in answer["Cache-Control"]
        # "no-referrer" would make browsers send "Origin: null", and the POST would be refused.
        assert answer["Referrer-Policy"] == "strict-origin"
    assert SignInLink.objects.filter(used_at=None).count() == 1


def test_asking_about_leaving_ends_nothing(cast: Cast) -> None:
    for method in ("get", "head"):
        getattr(as_member(cast.ana), method)("/g/harbour/people/bruno/leave/")
    assert Member.objects.of(cast.group).get(code="bruno").left_at is None


def test_an_address_elsewhere_is_not_followed_after_signing_in(cast: Cast) -> None:
    client = Client()
    client.get("/sign-in/?next=https://elsewhere.example/")
    assert "after_sign_in" not in client.session


def test_error_pages_ask_the_database_nothing(db: None) -> None:
    with CaptureQueriesContext(connection) as queries:
        answer = Client().get("/nothing/here/")
    assert answer.status_code == 404
    assert not queries.captured_queries


@pytest.mark.parametrize("address", ["week/", "digesters/", "digesters/duarte-drum/", "map/"])
def test_boards_never_show_a_private_street(live: Cast, address: str) -> None:
    for who in (live.bruno, live.carla):
        shown = as_member(who).get(f"/g/harbour/{address}").content.decode()
        assert STREET not in shown
        assert "Ines Lane" not in shown


def test_the_map_moves_private_places_off_the_house(live: Cast) -> None:
    shown = as_member(live.carla).get("/g/harbour/map/")
    homes = [each for each in shown.context["listed"] if each["shape"] == "home"]
    assert homes
    for each in homes:
        assert not each["address"].is_exact
        assert each["address"].latitude != each["row"].place.latitude


def test_opening_an_address_needs_a_reason_and_leaves_a_fact(cast: Cast) -> None:
    client = as_member(cast.carla)
    address = "/g/harbour/places/duarte-home/address/"
    assert STREET not in client.get(address).content.decode()
    refused = client.post(address, {"reason": " "})
    assert refused.status_code == 422
    assert STREET not in refused.content.decode()
    assert STREET in client.post(address, {"reason": "gas"}).content.decode()
    assert Fact.objects.of(cast.group).filter(kind="address_opened").count() == 1
    assert as_member(cast.bruno).post(address, {"reason": "gas"}).status_code == 403


def test_own_days_show_who_comes_and_what_is_fed(live: Cast) -> None:
    shown = as_member(live.duarte).get("/g/harbour/my-week/").content.decode()
    assert "Stall 4 on the quay" in shown
    assert "Never more than" in shown
    assert "licensed person" in shown
    giver = as_member(live.filipe).get("/g/harbour/my-week/").content.decode()
    assert "comes" in giver
    assert STREET not in giver


@pytest.mark.parametrize(
    "address", ["week/", "week/?by=home", "week/?by=day", "digesters/", "plans/", "map/"]
)
def test_boards_cost_a_fixed_number_of_statements(live: Cast, address: str) -> None:
    client = as_member(live.bruno)
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(f"/g/harbour/{address}")
    assert answer.status_code == 200
    # No statement stands inside a loop over rows.
    texts = [query["sql"] for query in queries.captured_queries]
    assert len(texts) <= 30
    assert len(texts) - len(set(texts)) <= 3


def test_a_plan_file_is_downloaded_and_another_groups_is_not_there(live: Cast) -> None:
    client = as_member(live.bruno)
    for form, start in (("json", b"{"), ("csv", b"PK"), ("xlsx", b"PK")):
        answer = client.get(reverse("plan-file", args=["harbour", 1, form]))
        assert answer.content.startswith(start)
        assert STREET.encode() not in answer.content
    assert client.get(reverse("plan-file", args=["harbour", 1, "exe"])).status_code == 404
    assert as_member(live.outsider).get("/g/harbour/plans/1/").status_code == 404


def test_a_wrong_amount_is_said_beside_its_field(cast: Cast) -> None:
    client = as_member(cast.ana)
    answer = client.post(
        "/g/harbour/destinations/add/",
        {"code": "heap", "name": "Heap", "place": "quay", "capacity_g_per_day": "1e5"},
    )
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert 'href="#id_capacity_g_per_day"' in shown
    assert "1e5" in shown


def test_amounts_are_read_in_the_readers_locale(cast: Cast) -> None:
    client = as_member(cast.ana)
    client.cookies["django_language"] = "es"
    address = "/g/harbour/destinations/allotment-compost/"
    answer = client.post(
        address,
        {
            "name": "Compost",
            "place": "allotments",
            "capacity_g_per_day": "12,5",
            "is_active": "on",
        },
    )
    assert answer.status_code == 302
    cast.compost.refresh_from_db()
    assert cast.compost.capacity_g_per_day == 12_500
    assert client.post(address, {"capacity_g_per_day": "12.5"}).status_code == 422


def test_a_stage_is_not_changed_without_its_evidence(live: Cast) -> None:
    client = as_member(live.carla)
    address = "/g/harbour/digesters/heitor-bag/stage/"
    data = {"goal": "recovering", "on": str(live.today)}
    assert client.post(address, data).status_code == 422
    assert client.post(address, {**data, "seen": ["HOME_AGREES"]}).status_code == 302


def test_every_answer_carries_the_content_policy(cast: Cast) -> None:
    for address in ("/", "/nothing/", "/g/harbour/"):
        policy = as_member(cast.ana).get(address)["Content-Security-Policy"]
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy


def test_every_published_material_has_a_name_for_translators() -> None:
    assert {each.name for each in read_published().values()} == MATERIAL_NAMES
    assert {each.cautions for each in read_published().values()} == MATERIAL_CAUTIONS


def test_a_kept_upload_is_only_for_its_own_sheet(cast: Cast) -> None:
    client = as_member(cast.ana)
    file = BytesIO(b"code,name,latitude,longitude\nmill,Mill,38.5,-9\n")
    file.name = "places.csv"
    answer = client.post("/g/harbour/sheets/places/", {"file": file, "decimal_mark": "."})
    assert answer.status_code == 302
    assert client.get("/g/harbour/sheets/sources/preview/").status_code == 302
    assert b"mill" in client.get("/g/harbour/sheets/places/preview/").content
