"""What goes into a digester, what is read at it and what leaves it, on the page of a day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from django.test import Client

from apps.digesters.models import DigesterKind, Reading, ReadingKind
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.operations.update_model import update_models
from apps.groups.models import Fact
from apps.ledger.models import Movement, Posting, PostingKind
from tests.web.day.conftest import A_KEY, Today


def test_feeding_as_the_recipe_says(client: Client, today: Today) -> None:
    for _tap in range(5):
        answer = client.post(today.home, {"do": "feed", "client_key": A_KEY})
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
        "client_key": A_KEY, "unit": "kg", "own-household_kitchen": "9", "water": "20",
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
        "client_key": A_KEY, "unit": "kg", "own-household_kitchen": "0.5",
        "on": tomorrow.isoformat(),
    }  # fmt: skip
    answer = client.post(f"{today.home}feeding/", sent)
    assert answer.status_code == 422
    assert "has not come yet" in answer.content.decode()


def test_readings_by_taps_and_a_drum_above_its_stop(client: Client, today: Today) -> None:
    address = f"{today.home}readings/"
    on = today.on.isoformat()
    sent = {"client_key": A_KEY, "drum": "45.5", "burner": "40", "flame": "2", "on": on}
    for _tap in range(2):
        assert client.post(address, sent).status_code == 302
    kept = {
        each.kind: each.value
        for each in Reading.objects.of(today.cast.group).filter(digester=today.cast.drum)
    }
    assert kept["drum_height_mm"] == 455
    assert kept["burner_min"] == 40
    assert kept["flame"] == 2
    high = {"client_key": A_KEY.replace("a", "b"), "drum": "120", "on": on}
    asked = client.post(address, high)
    assert asked.status_code == 409
    assert "above the stop" in asked.content.decode()
    assert client.post(address, {**high, "is_confirmed": "1"}).status_code == 302
    page = client.get(f"{today.home}picture/").content.decode()
    assert "of cooking in the holder" in page
    assert client.post(address, {"client_key": A_KEY, "on": on}).status_code == 422


def test_thermometers_are_written_down_and_a_domes_gauge_is_asked_for(
    client: Client, today: Today
) -> None:
    drum, address = today.cast.drum, f"{today.home}readings/"
    warm = {"slurry": "23.5", "air_low": "\N{MINUS SIGN}2", "air_high": "9,5"}
    sent = {"client_key": A_KEY, "on": today.on.isoformat(), **warm}
    for _tap in range(2):
        assert client.post(address, sent).status_code == 302
    kept = Reading.objects.of(today.cast.group).filter(digester=drum).order_by("value")
    assert [(each.kind, each.value) for each in kept] == [
        ("air_hundredths_c", -200),
        ("air_hundredths_c", 950),
        ("slurry_hundredths_c", 2350),
    ]
    swapped = {**sent, "client_key": A_KEY.replace("a", "b"), "air_low": "12"}
    assert "colder" in client.post(address, swapped).content.decode()
    assert "in kPa" not in client.get(address).content.decode()
    drum.kind, drum.full_pressure_pa = DigesterKind.FIXED_DOME, 8_000
    drum.save()
    assert "in kPa" in client.get(address).content.decode()
    gauge = {"client_key": A_KEY.replace("a", "c"), "pressure": "6.2", "on": today.on.isoformat()}
    assert client.post(address, gauge).status_code == 302
    assert kept.filter(kind="pressure_pa").get().value == 6_200


def test_fertiliser_is_diluted_by_use(client: Client, today: Today) -> None:
    address = f"{today.home}fertiliser/"
    page = client.get(address).content.decode()
    # Common practice, no source: trees 1:3, roof gardens 1:6, tender plants 1:10.
    assert page.index("1 : 3") < page.index("1 : 6") < page.index("1 : 10")
    assert "Never neat" in page
    sent = {"client_key": A_KEY, "amount": "2", "use": "roof_garden", "on": today.on.isoformat()}
    assert client.post(address, sent).status_code == 302
    assert "12\u00a0L of water" in client.get(today.home).content.decode()


def test_minutes_of_this_evening_stand_on_the_day(client: Client, today: Today) -> None:
    sent = {"client_key": A_KEY, "drum": "40", "burner": "40", "on": today.on.isoformat()}
    assert client.post(f"{today.home}readings/", sent).status_code == 302
    assert "of one burner this evening (" not in client.get(today.home).content.decode()
    update_models(today.cast.group, now=today.cast.now, digesters=[today.cast.drum])
    assert "of one burner this evening (" in client.get(today.home).content.decode()


def test_a_soured_digester_is_not_fed_and_its_day_says_why(client: Client, today: Today) -> None:
    assert "Not fed:" not in client.get(today.home).content.decode()
    sent = {"client_key": A_KEY, "ph": "600", "on": today.on.isoformat()}
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
