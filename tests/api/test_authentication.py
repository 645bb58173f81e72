"""A token is one member's in one group, until it ends; a session needs its CSRF proof."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from apps.api.bad_tokens import MOST_REFUSED, WITHIN_S
from apps.people.models import ApiToken, hash_token
from apps.people.operations.end_membership import end_membership
from tests.access.actors import bearer
from tests.api.caller import Caller
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def test_a_made_token_comes_in_and_a_revoked_one_does_not(cast: Cast) -> None:
    made = Caller(cast.duarte).post("/tokens", {"label": "phone", "life_days": 2})
    assert made.status_code == 201
    secret = made.data["secret"]
    headers = {"Authorization": f"Bearer {secret}"}
    assert Client(headers=headers).get("/api/v1/me").json()["memberships"][0]["roles"] == [
        "householder"
    ]
    stored = ApiToken.unscoped.get(uuid=made.data["uuid"])
    assert secret not in str(vars(stored))
    assert stored.token_hash == hash_token(secret)
    gone = Caller(cast.duarte).call("DELETE", f"/tokens/{stored.uuid}")
    assert gone.status_code == 204
    refused = Client(headers=headers).get("/api/v1/me")
    assert refused.status_code == 401
    assert refused.json()["code"] == "token_refused"


def test_a_token_ends_at_its_hour(cast: Cast) -> None:
    headers = bearer(cast.ana)
    ApiToken.unscoped.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert Client(headers=headers).get("/api/v1/me").status_code == 401


def test_a_token_ends_with_the_membership(cast: Cast) -> None:
    headers = bearer(cast.duarte)
    end_membership(cast.duarte, by=cast.ana, now=timezone.now())
    assert Client(headers=headers).get("/api/v1/me").status_code == 401


def test_a_token_is_nobody_elses_to_revoke(cast: Cast) -> None:
    made = Caller(cast.duarte).post("/tokens", {"label": "phone"})
    assert Caller(cast.ana).call("DELETE", f"/tokens/{made.data['uuid']}").status_code == 404


@pytest.mark.parametrize("header", ["Bearer", "Bearer ", "Bearer x", "bearer \x7f" + "y" * 5000])
def test_guessed_tokens_are_refused(cast: Cast, header: str) -> None:
    response = Client(headers={"Authorization": header}).get("/api/v1/me")
    assert response.status_code == 401


@pytest.mark.one_database
def test_every_single_changed_bit_of_a_token_is_refused(cast: Cast) -> None:
    secret = "AbCdEfGhIjKlMnOpQrStUv"
    bearer(cast.ana, secret)
    for place in range(len(secret)):
        for bit in range(7):
            other = secret[:place] + chr(ord(secret[place]) ^ (1 << bit)) + secret[place + 1 :]
            if not other.isprintable():
                continue
            client = Client(
                headers={"Authorization": f"Bearer {other}"}, REMOTE_ADDR=f"192.0.2.{place}"
            )
            response = client.get("/api/v1/me")
            # Spaces around a token are not part of it (RFC 6750 has none).
            assert response.status_code == 401 or other.strip() == secret


def test_an_address_with_many_bad_tokens_waits_whatever_it_sends(cast: Cast) -> None:
    good = bearer(cast.ana, "AbCdEfGhIjKlMnOpQrStUv")
    statuses = [
        Client(headers={"Authorization": f"Bearer wrong-{turn}"}).get("/api/v1/me").status_code
        for turn in range(MOST_REFUSED + 1)
    ]
    assert statuses == [401] * MOST_REFUSED + [429]
    waiting = Client(headers=good).get("/api/v1/me")
    assert (waiting.status_code, waiting.json()["code"]) == (429, "too_many")
    assert waiting["Retry-After"] == str(WITHIN_S)
    # Another address is not held back, and nobody who sends no token.
    elsewhere = Client(headers=good, REMOTE_ADDR="192.0.2.7").get("/api/v1/me")
    assert elsewhere.status_code == 200
    assert Client().get("/api/v1/schema").status_code == 200


def test_a_good_token_never_has_to_wait(cast: Cast) -> None:
    client = Client(headers=bearer(cast.ana))
    for _turn in range(MOST_REFUSED + 5):
        assert client.get("/api/v1/me").status_code == 200


def test_a_session_needs_the_proof_that_our_page_sent_it(cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.ana.user)
    assert client.get("/api/v1/groups/harbour").status_code == 200
    response = client.patch(
        "/api/v1/groups/harbour", {"name": "Port"}, content_type="application/json"
    )
    assert response.status_code == 403
    assert response.json()["code"] == "session_unproved"
    client.cookies["csrf"] = "a" * 32
    response = client.patch(
        "/api/v1/groups/harbour",
        {"name": "Port"},
        content_type="application/json",
        headers={"X-CSRFToken": "a" * 32},
    )
    assert response.status_code == 200
    assert response.json()["name"] == "Port"
