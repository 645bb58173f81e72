"""A household's day by its link: what a tap does, once, and what it is asked again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from apps.digesters.models import DigesterKind, Reading, ReadingKind
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.operations.update_model import update_models
from apps.groups.models import Fact
from apps.ledger.models import Movement, Posting, PostingKind
from apps.ledger.queries.balances import balances_g
from apps.pickups.core.life import State
from apps.pickups.models import ForeignMatter, PickupEvent
from apps.pickups.operations.note_pail import save_pail
from apps.web.templatetags.shown import kg
from tests.web.day.conftest import Today, keys

KEY = "00000000-0000-4000-8000-00000000000a"


def in_bin_g(today: Today) -> int:
    """Grams in Duarte's bin."""
    bin_id = today.cast.drum.bin_account_id
    return sum(balances_g(today.cast.group, [bin_id]).get(bin_id, {}).values())


def tap(client: Client, today: Today, **fields: object):
    """A button of the page."""
    sent = {"pickup": str(today.pickup.uuid), "client_key": KEY, **fields}
    return client.post(today.home, sent)


def test_reading_the_link_changes_nothing(client: Client, today: Today) -> None:
    facts = Fact.objects.of(today.cast.group).count()
    for _time in range(3):
        assert client.get(today.home).status_code == 200
        assert client.head(today.home).status_code == 200
    assert Fact.objects.of(today.cast.group).count() == facts
    assert today.fresh().state == State.ANNOUNCED


def test_nobody_keeps_the_page_and_nothing_tells_its_address(client: Client, today: Today) -> None:
    answer = client.get(today.home)
    assert "no-store" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "Set-Cookie" not in answer


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


def test_the_link_needs_no_cookie_and_no_origin(today: Today) -> None:
    strict = Client(enforce_csrf_checks=True, headers={"Origin": "null"})
    assert tap(strict, today, do="accept").status_code == 302
    assert today.fresh().state == State.ACCEPTED


def test_declining_takes_a_reason(client: Client, today: Today) -> None:
    assert "Say why" in tap(client, today, do="decline").content.decode()
    assert today.fresh().state == State.ANNOUNCED
    assert tap(client, today, do="decline", reason="ill").status_code == 302
    assert today.fresh().state == State.DECLINED


def test_two_phones_at_once(client: Client, today: Today) -> None:
    tap(client, today, do="complete")
    second = tap(client, today, do="decline", reason="ill", client_key=KEY.replace("a", "b"))
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
    sent = {"client_key": KEY, "weight-0": typed, "weight-1": "0"}
    answer = client.post(address, sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert f'value="{typed}"' in page or not typed
    assert in_bin_g(today) == 0


def test_a_comma_is_a_decimal_mark_in_spanish(client: Client, today: Today) -> None:
    client.cookies["django_language"] = "es"
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    sent = {"client_key": KEY, "weight-0": "0,35", "weight-1": "3,1"}
    assert client.post(address, sent).status_code == 302
    assert in_bin_g(today) == 3_450


def test_three_times_the_usual_is_asked_again(client: Client, today: Today) -> None:
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    sent = {"client_key": KEY, "weight-0": "0.4", "weight-1": "9"}
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
        "client_key": KEY, f"weight-{at}": "12.4", f"pail-{at}": "7", f"foreign-{at}": "1.5",
        f"weight-{1 - at}": "0", "kind": "plastic", "is_confirmed": "1",
    }  # fmt: skip
    client.post(address, sent)
    line = today.fresh().lines.get(stream=today.cast.vegetables)
    assert (line.collected_g, line.delivered_g) == (11_500, 10_000)
    assert ForeignMatter.objects.of(today.cast.group).get().amount_g == 1_500
    assert "1.5\u00a0kg set aside" in client.get(today.home).content.decode()


def test_feeding_as_the_recipe_says(client: Client, today: Today) -> None:
    for _tap in range(5):
        answer = client.post(today.home, {"do": "feed", "client_key": KEY})
        assert answer.status_code == 302
    fed = Posting.objects.of(today.cast.group).filter(kind=PostingKind.FEEDING, on=today.on)
    assert fed.count() == 1
    into = Movement.objects.of(today.cast.group).filter(posting=fed.get())
    assert sum(each.amount_g for each in into.filter(to_account=today.cast.drum.account)) == 500
    assert (
        "500" in client.get(today.home).content.decode()
        or "0.5" in client.get(today.home).content.decode()
    )


def test_too_much_is_asked_again_with_its_danger_and_then_written_down(
    client: Client, today: Today
) -> None:
    address = f"{today.home}feeding/"
    sent = {
        "client_key": KEY, "unit": "kg", "own-household_kitchen": "9", "water": "20",
        "on": today.on.isoformat(),
    }  # fmt: skip
    asked = client.post(address, sent)
    page = asked.content.decode()
    assert asked.status_code == 409
    assert "sours a digester" in page
    assert 'value="9"' in page
    fed = Posting.objects.of(today.cast.group).filter(kind=PostingKind.FEEDING, on=today.on)
    assert not fed.exists()
    assert client.post(address, {**sent, "is_confirmed": "1"}).status_code == 302
    assert fed.count() == 1
    assert Fact.objects.of(today.cast.group).filter(kind="overfed").count() == 1


def test_tomorrow_has_not_been_fed_yet(client: Client, today: Today) -> None:
    tomorrow = today.on + timedelta(days=1)
    sent = {
        "client_key": KEY, "unit": "kg", "own-household_kitchen": "0.5",
        "on": tomorrow.isoformat(),
    }  # fmt: skip
    answer = client.post(f"{today.home}feeding/", sent)
    assert answer.status_code == 422
    assert "has not come yet" in answer.content.decode()


def test_readings_by_taps_and_a_drum_above_its_stop(client: Client, today: Today) -> None:
    address = f"{today.home}readings/"
    on = today.on.isoformat()
    sent = {"client_key": KEY, "drum": "45.5", "burner": "40", "flame": "2", "on": on}
    for _tap in range(2):
        assert client.post(address, sent).status_code == 302
    kept = {
        each.kind: each.value
        for each in Reading.objects.of(today.cast.group).filter(digester=today.cast.drum)
    }
    assert kept["drum_height_mm"] == 455
    assert kept["burner_min"] == 40
    assert kept["flame"] == 2
    high = {"client_key": KEY.replace("a", "b"), "drum": "120", "on": on}
    asked = client.post(address, high)
    assert asked.status_code == 409
    assert "above the stop" in asked.content.decode()
    assert client.post(address, {**high, "is_confirmed": "1"}).status_code == 302
    page = client.get(f"{today.home}picture/").content.decode()
    assert "of cooking in the holder" in page
    assert client.post(address, {"client_key": KEY, "on": on}).status_code == 422


def test_thermometers_are_written_down_and_a_domes_gauge_is_asked_for(
    client: Client, today: Today
) -> None:
    drum, address = today.cast.drum, f"{today.home}readings/"
    warm = {"slurry": "23.5", "air_low": "\N{MINUS SIGN}2", "air_high": "9,5"}
    sent = {"client_key": KEY, "on": today.on.isoformat(), **warm}
    for _tap in range(2):
        assert client.post(address, sent).status_code == 302
    kept = Reading.objects.of(today.cast.group).filter(digester=drum).order_by("value")
    assert [(each.kind, each.value) for each in kept] == [
        ("air_hundredths_c", -200),
        ("air_hundredths_c", 950),
        ("slurry_hundredths_c", 2350),
    ]
    swapped = {**sent, "client_key": KEY.replace("a", "b"), "air_low": "12"}
    assert "colder" in client.post(address, swapped).content.decode()
    assert "in kPa" not in client.get(address).content.decode()
    drum.kind, drum.full_pressure_pa = DigesterKind.FIXED_DOME, 8_000
    drum.save()
    assert "in kPa" in client.get(address).content.decode()
    gauge = {"client_key": KEY.replace("a", "c"), "pressure": "6.2", "on": today.on.isoformat()}
    assert client.post(address, gauge).status_code == 302
    assert kept.filter(kind="pressure_pa").get().value == 6_200


def test_fertiliser_is_diluted_by_use(client: Client, today: Today) -> None:
    address = f"{today.home}fertiliser/"
    page = client.get(address).content.decode()
    # Common practice, no source: trees 1:3, roof gardens 1:6, tender plants 1:10.
    assert page.index("1 : 3") < page.index("1 : 6") < page.index("1 : 10")
    assert "Never neat" in page
    sent = {"client_key": KEY, "amount": "2", "use": "roof_garden", "on": today.on.isoformat()}
    assert client.post(address, sent).status_code == 302
    assert "12\u00a0L of water" in client.get(today.home).content.decode()


def test_a_link_for_tomorrow_lets_answer_but_not_confirm(client: Client, today: Today) -> None:
    address = today.link(today.cast.duarte, today.on + timedelta(days=1), digester=today.cast.drum)
    page = client.get(address).content.decode()
    assert "I fed it" not in page


def test_dead_links_say_whom_to_ask(client: Client, today: Today) -> None:
    assert client.get("/day/AAAAAAAAAAAAAAAAAAAAAA/").status_code == 410
    today.cast.drum.household = today.cast.elsa
    today.cast.drum.save()
    gone = client.get(today.home)
    assert gone.status_code == 410
    assert "Carla" in gone.content.decode()
    assert gone["Referrer-Policy"] == "no-referrer"
    assert tap(client, today, do="complete").status_code == 202
    assert today.fresh().state == State.ANNOUNCED


def test_an_expired_link_is_over(client: Client, today: Today) -> None:
    old = today.link(today.cast.duarte, today.on - timedelta(days=9), digester=today.cast.drum)
    assert client.get(old).status_code == 410


def test_somebody_elses_pickup_is_not_found(client: Client, today: Today) -> None:
    link = today.link(today.cast.elsa, today.on, digester=today.cast.dome)
    sent = {"do": "complete", "pickup": str(today.pickup.uuid), "client_key": KEY}
    assert client.post(link, sent).status_code == 404


def test_each_form_has_its_own_key(client: Client, today: Today) -> None:
    found = keys(client, today.home)
    assert len(found) == len(set(found)) >= 4


def test_a_coordinator_acts_for_somebody_and_it_shows(client: Client, today: Today) -> None:
    carla, group = today.cast.carla, today.cast.group
    client.force_login(carla.user)
    address = f"/g/harbour/my-day/homes/duarte-drum/{today.on}/"
    assert "You act for Duarte." in client.get(address).content.decode()
    sent = {"do": "accept", "pickup": str(today.pickup.uuid), "client_key": KEY}
    assert client.post(address, sent).status_code == 302
    event = PickupEvent.objects.of(group).get()
    assert (event.by, event.acted_for) == (carla, today.cast.duarte)
    assert "Carla for Duarte" in client.get("/g/harbour/today/").content.decode()


def test_another_household_may_not(client: Client, today: Today) -> None:
    client.force_login(today.cast.elsa.user)
    address = f"/g/harbour/my-day/homes/duarte-drum/{today.on}/"
    assert client.get(address).status_code == 403
    assert client.post(address, {"do": "feed", "client_key": KEY}).status_code == 403


def test_my_day_leads_to_the_only_digester(client: Client, today: Today) -> None:
    client.force_login(today.cast.duarte.user)
    answer = client.get("/g/harbour/my-day/")
    assert answer["Location"] == f"/g/harbour/my-day/homes/duarte-drum/{today.on}/"
    assert client.get(answer["Location"]).status_code == 200


def test_the_language_of_the_link_is_the_persons_and_can_be_changed(
    client: Client, today: Today
) -> None:
    duarte = today.cast.duarte
    duarte.language = "es"
    duarte.save()
    assert 'lang="es"' in client.get(today.home).content.decode()
    assert client.post(today.home, {"language": "en"}).status_code == 302
    assert '<html lang="en"' in client.get(today.home).content.decode()
    assert today.fresh().state == State.ANNOUNCED


@pytest.mark.parametrize(
    "fields",
    [
        {"do": "decline", "reason": "x" * 5_000},
        {"do": "complete", "pickup": "\x00"},
        {"do": "complete", "pickup": "' or 1=1"},
        {"do": "explode"},
    ],
)
def test_made_up_fields_are_no_fault_of_ours(
    client: Client, today: Today, fields: dict[str, str]
) -> None:
    assert tap(client, today, **fields).status_code == 404
    assert tap(client, today, do="accept", revision="9" * 5_000).status_code == 302


def test_minutes_of_this_evening_stand_on_the_day(client: Client, today: Today) -> None:
    sent = {"client_key": KEY, "drum": "40", "burner": "40", "on": today.on.isoformat()}
    assert client.post(f"{today.home}readings/", sent).status_code == 302
    assert "of one burner this evening (" not in client.get(today.home).content.decode()
    update_models(today.cast.group, now=today.cast.now, digesters=[today.cast.drum])
    assert "of one burner this evening (" in client.get(today.home).content.decode()


def test_a_soured_digester_is_not_fed_and_its_day_says_why(client: Client, today: Today) -> None:
    assert "Not fed:" not in client.get(today.home).content.decode()
    sent = {"client_key": KEY, "ph": "600", "on": today.on.isoformat()}
    assert client.post(f"{today.home}readings/", sent).status_code == 302
    page = client.get(today.home).content.decode()
    assert "Not fed:" in page
    assert "The pH strip shows 6" in page


def test_a_soured_digester_has_its_way_back_on_the_day(client: Client, today: Today) -> None:
    may_not_burn, way_back = "The gas may not burn", "The way back, step by step"
    assert may_not_burn not in client.get(today.home).content.decode()
    now = datetime.now(UTC)
    record_reading(
        today.cast.drum,
        kind=ReadingKind.PH,
        value=600,
        taken_at=now,
        now=now,
        client_key="sour",
    )
    linked = client.get(today.home).content.decode()
    assert may_not_burn in linked
    assert "ask the coordinator for the way back" in linked
    client.force_login(today.cast.duarte.user)
    address = f"/g/harbour/my-day/homes/{today.cast.drum.code}/{today.on}/"
    assert way_back in client.get(address).content.decode()


def test_what_may_be_taken_beyond_the_plan_is_said_while_it_can_be(
    client: Client, today: Today
) -> None:
    assert "If there is more" not in client.get(today.home).content.decode()
    today.pickup.lines.filter(stream=today.cast.vegetables).update(most_g=4_600)
    said = f"If there is more, take up to {kg(5_000)}."
    assert said in client.get(today.home).content.decode()
    tap(client, today, do="complete", share="100", revision="1")
    assert "If there is more" not in client.get(today.home).content.decode()
