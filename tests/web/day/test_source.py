"""A source contact's day by its link."""

from __future__ import annotations

from datetime import timedelta

from django.test import Client

from apps.pickups.core.life import State
from apps.supply.models import Offer
from tests.web.day.conftest import Today

KEY = "00000000-0000-4000-8000-00000000000c"


def offered_g(today: Today) -> dict[str, int]:
    """By stream, of today."""
    rows = Offer.objects.of(today.cast.group).filter(on=today.on)
    return dict(rows.values_list("stream__code", "amount_g"))


def test_who_comes_and_when(client: Client, today: Today) -> None:
    page = client.get(today.stall).content.decode()
    assert "Duarte comes" in page
    assert "09:00–12:00" in page


def test_the_same_as_yesterday(client: Client, today: Today) -> None:
    yesterday = today.on - timedelta(days=1)
    for stream, amount_g in ((today.cast.vegetables, 7_000), (today.cast.citrus, 0)):
        Offer.unscoped.create(
            group=today.cast.group,
            stream=stream,
            on=yesterday,
            amount_g=amount_g,
            said_at=today.cast.now,
        )
    assert client.post(today.stall, {"do": "repeat", "client_key": KEY}).status_code == 302
    assert offered_g(today) == {"quay-vegetables": 7_000, "quay-citrus": 0}
    assert "Written down: " in client.get(today.stall).content.decode()


def test_another_amount_by_a_chip(client: Client, today: Today) -> None:
    # Half of the 9 kg that the stall usually has.
    sent = {"do": "amount", "chip": "quay-vegetables:4500", "client_key": KEY}
    assert client.post(today.stall, sent).status_code == 302
    assert offered_g(today) == {"quay-vegetables": 4_500}
    wrong = {**sent, "chip": "quay-vegetables:999999"}
    assert client.post(today.stall, wrong).status_code == 404


def test_far_more_than_usual_is_asked_again(client: Client, today: Today) -> None:
    address = f"{today.stall}amounts/"
    sent = {"quay-vegetables": "90", "quay-citrus": "2", "client_key": KEY}
    asked = client.post(address, sent)
    assert asked.status_code == 409
    assert 'value="90"' in asked.content.decode()
    assert offered_g(today) == {}
    assert client.post(address, {**sent, "is_confirmed": "1"}).status_code == 302
    assert offered_g(today) == {"quay-vegetables": 90_000, "quay-citrus": 2_000}


def test_nothing_today(client: Client, today: Today) -> None:
    assert client.post(today.stall, {"do": "nothing", "client_key": KEY}).status_code == 302
    assert offered_g(today) == {"quay-vegetables": 0, "quay-citrus": 0}


def test_two_weights_are_shown_to_both(client: Client, today: Today) -> None:
    pickup = str(today.pickup.uuid)
    client.post(today.home, {"do": "complete", "pickup": pickup, "client_key": KEY})
    sent = {"do": "weight", "pickup": pickup, "amount": "5", "client_key": KEY}
    assert client.post(today.stall, sent).status_code == 302
    theirs, ours = client.get(today.stall), client.get(today.home)
    assert "The two weights differ" in theirs.content.decode()
    assert "You weighed 3.4\u00a0kg, they say 5\u00a0kg" in ours.content.decode()


def test_a_coordinator_settles_two_weights(client: Client, today: Today) -> None:
    pickup = str(today.pickup.uuid)
    client.post(today.home, {"do": "complete", "pickup": pickup, "client_key": KEY})
    sent = {"do": "weight", "pickup": pickup, "amount": "5", "client_key": KEY}
    client.post(today.stall, sent)
    client.force_login(today.cast.carla.user)
    assert "5\u00a0kg stands, as given" in client.get("/g/harbour/today/").content.decode()
    address = f"/g/harbour/today/pickups/{pickup}/settle/"
    assert client.post(address, {"whose": "giver", "client_key": KEY}).status_code == 302
    assert sum(line.collected_g for line in today.fresh().lines.all()) == 5_000


def test_a_bad_weight_is_kept_beside_its_field(client: Client, today: Today) -> None:
    sent = {
        "do": "weight", "pickup": str(today.pickup.uuid), "amount": "-5", "client_key": KEY,
    }  # fmt: skip
    answer = client.post(today.stall, sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="-5"' in page
    assert "Something needs another look" in page


def test_nobody_came(client: Client, today: Today) -> None:
    sent = {"do": "nobody", "pickup": str(today.pickup.uuid), "client_key": KEY}
    for _tap in range(2):
        assert client.post(today.stall, sent).status_code == 302
    assert today.fresh().state == State.FAILED


def test_a_giver_cannot_confirm_for_the_household(client: Client, today: Today) -> None:
    sent = {"do": "complete", "pickup": str(today.pickup.uuid), "client_key": KEY}
    assert client.post(today.stall, sent).status_code == 404
