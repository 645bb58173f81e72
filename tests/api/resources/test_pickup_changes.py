"""A pickup that goes otherwise, through the API."""

from __future__ import annotations

import pytest

from apps.pickups.models import Pickup, Standby
from tests.api.caller import Caller
from tests.api.resources.test_day import cast as _cast
from tests.api.resources.test_day import let_its_day_come, where
from tests.cast import Cast

pytestmark = pytest.mark.django_db
cast = _cast


def test_a_pickup_is_handed_over_and_taken_over_by_the_first(cast: Cast) -> None:
    duarte, elsa = Caller(cast.duarte), Caller(cast.elsa)
    assert duarte.post(where(cast, "hand-over"), {"to": "nobody"}).status_code == 404
    handed = duarte.post(where(cast, "hand-over"), {"to": cast.carla.code})
    assert (handed.status_code, handed.data["fetcher"]) == (200, cast.carla.code)
    refused = elsa.post(where(cast, "take-over"), {})
    assert (refused.status_code, refused.data["code"]) == (409, "cannot_hand_over")
    Standby.unscoped.create(group=cast.group, member=cast.elsa, since_at=cast.now)
    taken = elsa.post(where(cast, "take-over"), {})
    assert (taken.data["fetcher"], taken.data["state"]) == (cast.elsa.code, "accepted")


def test_late_on_its_day_only_and_refused_with_its_kind(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    assert duarte.post(where(cast, "lateness"), {"minutes": 30}).status_code == 422
    assert duarte.post(where(cast, "lateness"), {"minutes": 999}).status_code == 422
    let_its_day_come(cast)
    assert duarte.post(where(cast, "lateness"), {"minutes": 30}).status_code == 200
    refused = duarte.post(where(cast, "refusal"), {"kind": "wrong"})
    assert (refused.status_code, refused.data["state"]) == (200, "failed")


def test_either_side_contests_and_only_a_coordinator_composts(cast: Cast) -> None:
    let_its_day_come(cast)
    filipe, carla = Caller(cast.filipe), Caller(cast.carla)
    assert filipe.post(where(cast, "contest"), {}).status_code == 409
    assert filipe.post(where(cast, "composting"), {}).status_code == 403
    Caller(cast.duarte).post(where(cast, "completion"), {})
    assert filipe.post(where(cast, "contest"), {}).status_code == 200
    pickup = Pickup.objects.of(cast.group).get(digester=cast.drum)
    assert pickup.contested_at is not None
    assert carla.post(where(cast, "composting"), {}).status_code == 409


def test_the_ladder_is_read_and_set(cast: Cast) -> None:
    carla = Caller(cast.carla)
    assert carla.get("/ladder").data["reminder_min"] == 120
    wanted = {
        "reminder_min": 90,
        "second_reminder_min": 60,
        "standby_min": 30,
        "coordinator_min": 5,
        "standby": [cast.elsa.code],
    }
    assert carla.put("/ladder", wanted).data == wanted
    assert carla.put("/ladder", {**wanted, "standby_min": 61}).status_code == 422
    assert carla.put("/ladder", {**wanted, "standby": ["nobody"]}).status_code == 404
