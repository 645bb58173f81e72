"""What is sent by a link that has ended is kept for a coordinator, and never acts by itself."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from apps.pickups.core.life import State
from apps.pickups.models import DayLink, LateMessage
from apps.pickups.operations import hold_late_message
from apps.pickups.queries.exceptions import Kind, todays_exceptions
from tests.api.caller import Caller
from tests.web.day.conftest import Today

KEY = "1b671a64-40d5-491e-99b0-da01ff1f3341"


def end_links(today: Today) -> None:
    """As when the time is over."""
    DayLink.objects.of(today.cast.group).update(expires_at=datetime.now(UTC) - timedelta(seconds=1))


def send(today: Today, address: str, **sent: str) -> tuple[int, str]:
    """One form; status and page."""
    answer = Client().post(address, {"client_key": KEY, **sent})
    return answer.status_code, answer.content.decode()


def kept(today: Today) -> list[LateMessage]:
    """All of the group, the oldest first."""
    return list(LateMessage.objects.of(today.cast.group).order_by("pk"))


def settle(today: Today, do: str) -> str:
    """The coordinator's tap on the only message."""
    client = Client()
    client.force_login(today.cast.carla.user)
    [message] = kept(today)
    answer = client.post(f"/g/harbour/today/messages/{message.uuid}/", {"do": do}, follow=True)
    return str(answer.content.decode())


def test_a_weight_is_kept_once_shown_and_applied(today: Today) -> None:
    end_links(today)
    weights = {"weight-0": "0.5", "weight-1": "6.0"}
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    status, page = send(today, address, **weights)
    assert status == 202
    assert "Kept for Carla to look at" in page
    assert "6.5 kg collected" in page
    assert send(today, address, **weights, client_key=KEY.replace("1b", "2c"))[0] == 202
    [message] = kept(today)
    assert today.fresh().state == State.ANNOUNCED
    found = todays_exceptions(today.cast.group, now=datetime.now(UTC))
    [trouble] = [each for each in found if each.kind == Kind.WROTE_LATE]
    assert (
        str(trouble.sentence) == "Duarte wrote after the link had ended: "
        f"6.5 kg collected at {today.pickup.source.name} on {today.on}."
    )
    assert "Applied, with your name." in settle(today, "apply")
    done = today.fresh()
    assert done.state == State.DELIVERED
    assert sum(line.collected_g or 0 for line in done.lines.all()) == 6_500
    event = done.events.last()
    assert event is not None
    assert (event.by, event.acted_for) == (today.cast.carla, today.cast.duarte)
    message.refresh_from_db()
    assert message.is_applied
    assert message.settled_by == today.cast.carla
    settle(today, "apply")
    assert today.fresh().events.count() == done.events.count()
    assert "settled this meanwhile" in settle(today, "put_aside")


def test_the_decimal_mark_stays_the_senders(today: Today) -> None:
    today.cast.duarte.language = "es"
    today.cast.duarte.save()
    end_links(today)
    address = f"{today.home}pickups/{today.pickup.uuid}/"
    assert send(today, address, **{"weight-0": "0,4", "weight-1": "2,5"})[0] == 202
    assert kept(today)[0].amount_g == 2_900
    settle(today, "apply")
    assert sum(line.collected_g or 0 for line in today.fresh().lines.all()) == 2_900


def test_put_aside_changes_nothing_and_leaves_the_list(today: Today) -> None:
    end_links(today)
    send(today, today.home, do="complete", pickup=str(today.pickup.uuid), share="150")
    assert [each.amount_g for each in kept(today)] == [5_100]
    assert "Put aside" in settle(today, "put_aside")
    assert today.fresh().state == State.ANNOUNCED
    found = todays_exceptions(today.cast.group, now=datetime.now(UTC))
    assert Kind.WROTE_LATE not in {each.kind for each in found}


def test_a_task_that_went_elsewhere_keeps_the_words_too(today: Today) -> None:
    today.cast.drum.household = today.cast.elsa
    today.cast.drum.save()
    status, page = send(today, today.home, do="fail", pickup=str(today.pickup.uuid))
    assert status == 202
    assert "nothing was fetched" in page


def test_what_happened_to_a_withdrawn_pickup_is_kept_and_not_applied(today: Today) -> None:
    today.pickup.state = State.WITHDRAWN
    today.pickup.save()
    pickup = str(today.pickup.uuid)
    assert send(today, today.home, do="accept", pickup=pickup)[0] == 409
    assert not kept(today)
    assert send(today, today.home, do="complete", pickup=pickup)[0] == 202
    assert "Not applied:" in settle(today, "apply")
    [message] = kept(today)
    assert message.settled_at is None
    assert today.fresh().state == State.WITHDRAWN


@pytest.mark.parametrize("what", ["nothing", "repeat", "weight"])
def test_a_source_is_heard_as_well(today: Today, what: str) -> None:
    end_links(today)
    pickup = str(today.pickup.uuid)
    assert send(today, today.stall, do=what, pickup=pickup, amount="3")[0] == 202
    assert kept(today)[0].link.member == today.cast.filipe


def test_unknown_tokens_and_reading_hold_nothing(today: Today) -> None:
    assert send(today, "/day/AAAAAAAAAAAAAAAAAAAAAA/", do="complete")[0] == 410
    end_links(today)
    assert Client().get(today.home).status_code == 410
    assert Client().head(today.home).status_code == 410
    assert send(today, today.home)[0] == 410
    assert send(today, today.home, language="es")[0] == 410
    assert not kept(today)


def test_size_and_number_are_limited(today: Today, monkeypatch: pytest.MonkeyPatch) -> None:
    end_links(today)
    monkeypatch.setattr(hold_late_message, "MOST_OF_A_LINK", 2)
    status, page = send(today, today.home, note="x" * 4_000)
    assert status == 422
    assert "Carla" in page
    for at in range(3):
        assert send(today, today.home, note=f"{at}\0")[0] == (202 if at < 2 else 422)
    assert len(kept(today)) == 2


def test_only_a_coordinator_of_the_group_settles(client: Client, today: Today) -> None:
    end_links(today)
    send(today, today.home, do="fail", pickup=str(today.pickup.uuid))
    address = f"/g/harbour/today/messages/{kept(today)[0].uuid}/"
    client.force_login(today.cast.bruno.user)
    assert client.post(address, {"do": "apply"}).status_code == 403
    client.force_login(today.cast.carla.user)
    assert client.post(address, {"do": "else"}).status_code == 404
    assert client.post(address.replace(address[-5:-1], "0000"), {"do": "apply"}).status_code == 404


def test_settled_by_the_api_too(today: Today) -> None:
    end_links(today)
    send(today, today.home, do="fail", pickup=str(today.pickup.uuid))
    carla = Caller(today.cast.carla)
    [row] = [row for row in carla.get("/exceptions").data["results"] if row["kind"] == "wrote_late"]
    assert (row["message"], row["repairs"]) == (str(kept(today)[0].uuid), ["settle_late_message"])
    where = f"/late-messages/{row['message']}/settlement"
    assert Caller(today.cast.duarte).post(where, {"is_applied": True}).status_code == 403
    answer = carla.post(where, {"is_applied": False})
    assert (answer.status_code, answer.data["kind"]) == (200, "failed")
    assert answer.data["is_applied"] is False
    assert carla.post(where, {"is_applied": True}).status_code == 409
