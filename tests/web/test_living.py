"""The living digester's pages and addresses, in both languages and without script."""

from __future__ import annotations

import pytest
from django.test import Client

from apps.digesters.models import Digester, RaisedWarning, ReadingKind, StageName
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.operations.update_model import update_models
from tests.cast import Cast, make_cast
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast() -> Cast:
    return make_cast(history_days=4)


def browser(cast: Cast, name: str, language: str = "en") -> Client:
    client = Client()
    client.force_login(getattr(cast, name).user)
    client.cookies["django_language"] = language
    return client


def read(cast: Cast, kind: ReadingKind, value: int) -> None:
    record_reading(
        cast.drum, kind=kind, value=value, taken_at=cast.now, now=cast.now, client_key=f"{kind}"
    )


@pytest.fixture
def at_the_casts_time(cast: Cast, time_machine) -> Cast:
    time_machine.move_to(cast.now, tick=False)
    return cast


def test_a_householder_sees_minutes_tomorrow_and_warnings_of_the_own_home(
    at_the_casts_time: Cast,
) -> None:
    cast = at_the_casts_time
    read(cast, ReadingKind.DRUM_HEIGHT, cast.drum.drum_stop_mm)
    update_models(cast.group, now=cast.now, digesters=[cast.drum])
    page = f"/g/harbour/digesters/{cast.drum.code}/inside/"
    answer = browser(cast, "duarte").get(page)
    words = answer.content.decode()
    assert answer.status_code == 200
    assert "of one burner (" in words
    assert "Tomorrow" in words
    assert "Gas holder full" in words
    assert "Biogas burns and can explode" in words
    assert "<script" not in words.split("<main")[1]
    assert browser(cast, "elsa").get(page).status_code == 403
    # Spanish has words of its own for all of it.
    spanish = browser(cast, "duarte", "es").get(page).content.decode()
    assert "Esta tarde" in spanish
    assert "of one burner" not in spanish

    carla = browser(cast, "carla")
    tried = carla.get(page, {"feed": "5", "days": "7"}).content.decode()
    assert "Courses of 100 that sour" in tried
    assert carla.get(page, {"feed": "5x", "days": "7"}).status_code == 422
    assert carla.get(page, {"feed": "199", "days": "7"}).status_code == 422
    ranked = carla.get("/g/harbour/warnings/").content.decode()
    assert "Gas holder full" in ranked
    assert RaisedWarning.objects.of(cast.group).filter(cleared_on=None).exists()

    shown = carla.get(f"/api/v1/groups/harbour/digesters/{cast.drum.code}/living").json()
    assert shown["promise"]["low"] <= shown["promise"]["minutes"] <= shown["promise"]["high"]
    assert shown["warnings"][0]["kind"] == "full_holder"
    what_if = carla.get(
        f"/api/v1/groups/harbour/digesters/{cast.drum.code}/what-if?vs_g_per_day=900"
    ).json()
    assert what_if["tried"]["gas_m3"]["low"] <= what_if["tried"]["gas_m3"]["high"]


def test_without_a_model_the_rules_alone_are_shown(at_the_casts_time: Cast) -> None:
    cast = at_the_casts_time
    carla = browser(cast, "carla")
    answer = carla.get(f"/g/harbour/digesters/{cast.dome.code}/inside/")
    assert "the rules alone hold" in answer.content.decode()
    refused = carla.get(
        f"/api/v1/groups/harbour/digesters/{cast.dome.code}/what-if?vs_g_per_day=900"
    )
    assert (refused.status_code, refused.json()["code"]) == (409, "no_model")


def test_the_way_back_after_souring_one_step_a_screen(at_the_casts_time: Cast) -> None:
    cast = at_the_casts_time
    duarte = browser(cast, "duarte")
    page = f"/g/harbour/digesters/{cast.drum.code}/recovery/"
    assert "Nothing has soured" in duarte.get(page).content.decode()
    read(cast, ReadingKind.PH, 600)
    words = duarte.get(page).content.decode()
    assert "Feed nothing" in words
    assert "hydrogen sulphide" in words
    assert Digester.objects.of(cast.group).get(pk=cast.drum.pk).stage == StageName.RUNNING
    assert duarte.post(page).status_code == 302
    assert Digester.objects.of(cast.group).get(pk=cast.drum.pk).stage == StageName.RECOVERING
    assert "<h1>Wait</h1>" in duarte.get(page).content.decode()
    assert browser(cast, "elsa").get(page).status_code == 403
