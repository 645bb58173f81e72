"""Late, somebody else, a bad batch, a weight that is wrong: by a few taps from a link."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.test import Client

from apps.pickups.core.life import State
from apps.pickups.models import ForeignMatter, Pickup, Standby
from tests.web.day.conftest import Today, keys

AROUND_NOON = datetime.now(UTC).hour < 22
"""A pickup can be late until the end of its day only."""


def tap(client: Client, today: Today, address: str, **sent: str) -> str:
    """Send one form of a page; the page that comes back, as text."""
    sent = {"pickup": str(today.pickup.uuid), "client_key": keys(client, address)[0], **sent}
    return client.post(address, sent, follow=True).content.decode()


def test_a_neighbour_is_asked_and_finds_their_pickup_and_nothing_else(
    client: Client, today: Today
) -> None:
    bruno = today.cast.bruno
    Standby.unscoped.create(group=today.cast.group, member=bruno, since_at=datetime.now(UTC))
    home = client.get(today.home).content.decode()
    assert "Somebody else goes for me" in home
    assert "Bruno is asked" in tap(client, today, today.home, do="hand_over", to=bruno.code)
    assert "Bruno brings it; you need not go" in client.get(today.home).content.decode()
    page = today.link(bruno, today.on, digester=today.cast.drum)
    shown = client.get(page).content.decode()
    assert "Bring it to" in shown
    assert "Duarte-home Lane 1" in shown
    assert "Feed the digester" not in shown
    assert client.get(f"{page}picture/").status_code == 404
    assert client.post(page, {"do": "feed"}).status_code == 404
    assert "Written down: " in tap(client, today, page, do="complete")
    assert today.fresh().state == State.DELIVERED


def test_the_first_on_standby_takes_it_over_by_their_link(client: Client, today: Today) -> None:
    elsa = today.cast.elsa
    Standby.unscoped.create(group=today.cast.group, member=elsa, since_at=datetime.now(UTC))
    page = today.link(elsa, today.on, digester=today.cast.drum)
    assert "I step in and fetch it" in client.get(page).content.decode()
    assert "You go. Thank you" in tap(client, today, page, do="take_over")
    assert (today.fresh().state, today.fresh().fetcher) == (State.ACCEPTED, elsa)


def test_a_bad_batch_is_left_there_by_its_picture(client: Client, today: Today) -> None:
    assert "<svg" in client.get(today.home).content.decode()
    told = tap(client, today, today.home, do="bad", kind="rotten")
    assert "you left it there" in told
    assert {each.kind for each in ForeignMatter.objects.of(today.cast.group)} == {"rotten"}
    wrong = {"pickup": str(today.pickup.uuid), "do": "bad", "kind": "nonsense"}
    assert client.post(today.home, wrong).status_code == 404


def test_either_side_says_that_a_weight_is_wrong(client: Client, today: Today) -> None:
    tap(client, today, today.home, do="complete")
    assert "the weight is wrong" in tap(client, today, today.stall, do="contest")
    assert Pickup.objects.of(today.cast.group).get(pk=today.pickup.pk).contested_at
    assert "asks both" in client.get(today.home).content.decode()


@pytest.mark.skipif(not AROUND_NOON, reason="too late in the day to come later")
def test_whoever_is_late_says_how_much(client: Client, today: Today) -> None:
    assert "Written down: you come by" in tap(client, today, today.home, do="late", minutes="15")
    assert "They come later, by" in client.get(today.stall).content.decode()
    refused = tap(client, today, today.home, do="late", minutes="999")
    assert "cannot wait" in refused
