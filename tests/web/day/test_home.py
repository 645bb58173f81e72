"""The household confirms, declines and weighs on the page of a day."""

from __future__ import annotations

import pytest
from django.test import Client

from apps.ledger.queries.balances import balances_g
from apps.pickups.core.life import State
from apps.pickups.models import ForeignMatter, PickupEvent
from apps.pickups.operations.note_pail import save_pail
from apps.web.templatetags.shown import kg
from tests.web.day.conftest import A_KEY, Today, tap


def in_bin_g(today: Today) -> int:
    """Grams in Duarte's bin."""
    bin_id = today.cast.drum.bin_account_id
    return sum(balances_g(today.cast.group, [bin_id]).get(bin_id, {}).values())


def test_confirm_with_one_tap_however_often(client: Client, today: Today) -> None:
    page = client.get(today.home).content.decode()
    assert "Quay Lane 1" in page
    assert "Ring twice." in page
    for _tap in range(5):
        assert tap(client, today, do="complete", share="100", revision="1").status_code == 302
    assert today.fresh().state == State.DELIVERED
    assert in_bin_g(today) == 3_400
    assert PickupEvent.objects.of(today.cast.group).count() == 1
    told = client.get(today.home).content.decode()
    assert "Written down: 3.4\u00a0kg" in told


def test_a_weight_chip_books_its_weight(client: Client, today: Today) -> None:
    tap(client, today, do="complete", share="75")
    assert in_bin_g(today) == 2_250 + 300  # three quarters of 3,000 g and of 400 g


def test_declining_takes_a_reason(client: Client, today: Today) -> None:
    assert "Say why" in tap(client, today, do="decline").content.decode()
    assert today.fresh().state == State.ANNOUNCED
    assert tap(client, today, do="decline", reason="ill").status_code == 302
    assert today.fresh().state == State.DECLINED


def test_two_phones_at_once(client: Client, today: Today) -> None:
    tap(client, today, do="complete")
    second = tap(client, today, do="decline", reason="ill", client_key=A_KEY.replace("a", "b"))
    assert second.status_code == 409
    assert "already done" in second.content.decode()
    assert in_bin_g(today) == 3_400


def test_an_older_page_is_told_that_the_plan_changed(client: Client, today: Today) -> None:
    answer = tap(client, today, do="complete", revision="0")
    assert answer.status_code == 409
    assert "plan changed" in answer.content.decode()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("0", "did not happen"),
        ("-3", "is not an amount"),
        ("3,4", "is not an amount"),
        ("", "Write the weight"),
    ],
)
def test_a_bad_weight_is_kept_and_explained(
    client: Client, today: Today, typed: str, words: str
) -> None:
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    sent = {"client_key": A_KEY, "weight-0": typed, "weight-1": "0"}
    answer = client.post(address, sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert f'value="{typed}"' in page or not typed
    assert in_bin_g(today) == 0


def test_a_comma_is_a_decimal_mark_in_spanish(client: Client, today: Today) -> None:
    client.cookies["django_language"] = "es"
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    sent = {"client_key": A_KEY, "weight-0": "0,35", "weight-1": "3,1"}
    assert client.post(address, sent).status_code == 302
    assert in_bin_g(today) == 3_450


def test_three_times_the_usual_is_asked_again(client: Client, today: Today) -> None:
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    sent = {"client_key": A_KEY, "weight-0": "0.4", "weight-1": "9"}
    asked = client.post(address, sent)
    assert asked.status_code == 409
    assert 'value="9"' in asked.content.decode()
    assert in_bin_g(today) == 0
    assert client.post(address, {**sent, "is_confirmed": "1"}).status_code == 302
    assert in_bin_g(today) == 9_400


def test_a_pail_and_foreign_matter(client: Client, today: Today) -> None:
    """12.4 kg gross, tare 0.9, 1.5 kg of foreign matter: 11.5 collected, 10.0 delivered, 1.5 set
    aside (the customer's worked example)."""
    save_pail(today.cast.group, code="7", tare_g=900)
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    at = [line.stream.code for line in today.pickup.lines.all()].index("quay-vegetables")
    sent = {
        "client_key": A_KEY, f"weight-{at}": "12.4", f"pail-{at}": "7", f"foreign-{at}": "1.5",
        f"weight-{1 - at}": "0", "kind": "plastic", "is_confirmed": "1",
    }  # fmt: skip
    client.post(address, sent)
    line = today.fresh().lines.get(stream=today.cast.vegetables)
    assert (line.collected_g, line.delivered_g) == (11_500, 10_000)
    assert ForeignMatter.objects.of(today.cast.group).get().amount_g == 1_500
    assert "1.5\u00a0kg set aside" in client.get(today.home).content.decode()


def test_what_may_be_taken_beyond_the_plan_is_said_while_it_can_be(
    client: Client, today: Today
) -> None:
    assert "If there is more" not in client.get(today.home).content.decode()
    today.pickup.lines.filter(stream=today.cast.vegetables).update(most_g=4_600)
    said = f"If there is more, take up to {kg(5_000)}."
    assert said in client.get(today.home).content.decode()
    tap(client, today, do="complete", share="100", revision="1")
    assert "If there is more" not in client.get(today.home).content.decode()
