"""The day of a group: a decline, the next best home in one tap, acting for somebody."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from apps.ledger.models import AccountKind, Posting, PostingKind
from apps.ledger.operations.record_collection import record_collection
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from tests.cast import Cast, make_cast
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast() -> Cast:
    """The neighbourhood with a real plan from today on, announced."""
    now = datetime.now(UTC)
    cast = make_cast(now, history_days=14)
    announce_plan(make_plan(cast.group, now=now, starts_on=cast.today), now=now)
    return cast


def test_a_decline_shows_the_next_homes_and_one_tap_takes_one(client: Client, cast: Cast) -> None:
    pickup = (
        Pickup.objects.of(cast.group)
        .filter(on__gte=cast.today, on__lte=cast.today + timedelta(days=1))
        .select_related("source", "digester")
        .first()
    )
    assert pickup is not None
    client.force_login(cast.carla.user)
    act = f"/g/harbour/today/pickups/{pickup.uuid}/"
    answer = client.post(act, {"do": "decline", "reason": "ill"}, follow=True)
    page = answer.content.decode()
    assert "who takes it?" in page
    pickup.refresh_from_db()
    assert pickup.state == State.DECLINED
    homes = answer.context["homes"]
    if not homes:
        assert "No other home in reach" in page
        return
    client.force_login(cast.bruno.user)
    sent = {"digester": homes[0].digester.code, "amount_g": homes[0].amount_g}
    assert client.post(f"{act}next-home/", sent).status_code == 302
    moved = Pickup.objects.of(cast.group).get(
        source=pickup.source, digester=homes[0].digester, on=pickup.on
    )
    assert moved.state == State.ANNOUNCED


def test_an_assigner_does_not_act_for_others(client: Client, cast: Cast) -> None:
    pickup = Pickup.objects.of(cast.group).first()
    client.force_login(cast.bruno.user)
    assert pickup is not None
    answer = client.post(f"/g/harbour/today/pickups/{pickup.uuid}/", {"do": "accept"})
    assert answer.status_code == 403


def test_waste_too_old_is_set_aside(client: Client, cast: Cast) -> None:
    now = datetime.now(UTC)
    material = cast.vegetables.material
    record_collection(
        cast.group,
        source_account=cast.quay_stall.account,
        bin_account=cast.drum.bin_account,
        delivered_g={material: 2_000},
        rejected_g={},
        rejected_to=AccountKind.DISCARDED,
        happened_at=now,
        now=now,
        client_key="brought",
        recorded_by_uuid=None,
    )
    client.force_login(cast.carla.user)
    address = "/g/harbour/today/bins/duarte-drum/"
    too_much = client.post(address, {"where": "composted", material.code: "3"})
    assert too_much.status_code == 422
    sent = {"where": "composted", material.code: "1.5"}
    assert client.post(address, sent).status_code == 302
    assert Posting.objects.of(cast.group).filter(kind=PostingKind.SET_ASIDE).count() == 1
