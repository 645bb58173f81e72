"""What comes every week: asked on one side's page, agreed on the other's, by page and by API."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from apps.people.models import Member
from apps.planning.models import Standing
from apps.planning.operations.ban_pair import ban_pair
from apps.planning.operations.put_standing_pins import put_standing_pins
from tests.api.caller import Caller
from tests.cast import Cast, make_cast
from tests.remembered import remembered

pytestmark = pytest.mark.django_db

PAGE = "/g/harbour/every-week/"


@pytest.fixture
@remembered
def cast() -> Cast:
    return make_cast(datetime.now(UTC), history_days=3)


def signed_in(member: Member) -> Client:
    client = Client()
    client.force_login(member.user)
    return client


def test_one_asks_the_other_agrees_and_either_ends(cast: Cast) -> None:
    stall, home = signed_in(cast.filipe), signed_in(cast.duarte)
    on = cast.today + timedelta(days=1)
    sent = {
        "stream": cast.vegetables.code, "digester": cast.drum.code,
        "weekday": on.weekday(), "amount_g": "1.5",
    }  # fmt: skip
    page = stall.post(PAGE, sent, follow=True).content.decode()
    assert "once the other side agrees" in page
    assert "waits for the home" in page
    assert ">Agree<" not in page
    assert ">Agree<" in home.get(PAGE).content.decode()
    assert cast.drum.name not in signed_in(cast.elsa).get(PAGE).content.decode().split("<form")[0]
    standing = Standing.objects.of(cast.group).get()
    decide = f"{PAGE}{standing.uuid}/"
    assert signed_in(cast.elsa).post(decide, {"do": "agree"}).status_code == 403
    assert home.post(decide, {"do": "agree"}).status_code == 302
    standing.refresh_from_db()
    assert (standing.agreed_by, standing.amount_g) == (cast.duarte, 1_500)
    ban_pair(cast.group, source=cast.quay_stall, digester=cast.drum, now=cast.now)
    put_standing_pins(cast.group, starts_on=on, now=cast.now)
    assert "Not kept on" in home.get(PAGE).content.decode()
    assert home.post(decide, {"do": "other"}).status_code == 404
    assert home.post(decide, {"do": "end"}).status_code == 302
    assert "Nothing is agreed" in stall.get(PAGE).content.decode()


def test_by_the_api(cast: Cast) -> None:
    stall, home = Caller(cast.filipe), Caller(cast.duarte)
    body = {"stream": cast.vegetables.code, "digester": cast.drum.code, "weekday": 1}
    made = stall.post("/standings", body)
    assert (made.status_code, made.data["agreed_at"]) == (201, None)
    assert Caller(cast.elsa).get("/standings").data["results"] == []
    where = f"/standings/{made.data['uuid']}"
    assert Caller(cast.elsa).post(f"{where}/end", {}).status_code == 403
    assert home.post(f"{where}/agreement", {}).data["by_taker"]
    [row] = Caller(cast.bruno).get("/standings").data["results"]
    assert row["agreed_at"]
    assert stall.post(f"{where}/end", {}).data["ended_at"]
    assert home.post(f"{where}/agreement", {}).status_code == 409
    assert stall.post("/standings", body | {"weekday": 7}).status_code == 422
