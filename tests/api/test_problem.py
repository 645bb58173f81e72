"""Every error under /api/ is a problem document (RFC 9457), whoever raised it."""

from __future__ import annotations

from typing import Any
from unittest import mock

import pytest
from django.core.exceptions import RequestDataTooBig, SuspiciousOperation, ValidationError
from django.db import IntegrityError, OperationalError
from django.test import Client
from rest_framework import exceptions

from apps.api.problem import problem_of
from apps.kernel.errors import Conflict, NeedsConfirmation, NotAllowed, Refused
from apps.kernel.figures import FigureError
from tests.api.caller import Caller
from tests.cast import Cast

MEMBERS = {"type", "title", "status", "code", "detail", "errors", "figures"}
"""RFC 9457 section 3.1 has the first three and `detail`; the others are extensions."""


def check(response: Any, status: int, code: str) -> dict[str, Any]:
    assert response.status_code == status
    assert response["Content-Type"] == "application/problem+json"
    assert set(response.json()) == MEMBERS
    assert response.json()["status"] == status
    assert response.json()["code"] == code
    assert response.json()["type"] == f"/api/problems#{code}"
    assert response.json()["detail"]
    assert "no-store" in response["Cache-Control"]
    found: dict[str, Any] = response.json()
    return found


@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "PATCH", "DELETE"])
def test_an_address_that_is_not_there(method: str) -> None:
    check(Client().generic(method, "/api/v1/nothing"), 404, "not_found")


@pytest.mark.django_db
def test_nobody_is_asked_who_they_are() -> None:
    response = Client().get("/api/v1/me")
    check(response, 401, "sign_in_needed")
    assert response["WWW-Authenticate"].startswith("Bearer")


@pytest.mark.django_db
def test_a_method_that_the_address_does_not_have(cast: Cast) -> None:
    response = Caller(cast.ana).call("DELETE", "/places")
    check(response, 405, "method_not_allowed")
    assert response["Allow"] == "GET, OPTIONS"


@pytest.mark.django_db
def test_a_content_type_that_is_not_read(cast: Cast) -> None:
    caller = Caller(cast.ana)
    response = caller.client.patch(caller.base, "name=x", content_type="text/plain")
    check(response, 415, "media_type")


@pytest.mark.django_db
def test_json_that_is_none(cast: Cast) -> None:
    response = Caller(cast.ana).call("PATCH", "", '{"name": NaN}')
    assert "NaN" in check(response, 400, "not_understood")["detail"]


@pytest.mark.django_db
def test_the_wrong_role_is_told_whom_to_ask(cast: Cast) -> None:
    found = check(Caller(cast.duarte).call("PATCH", "", {"name": "x"}), 403, "not_allowed")
    assert "administrator" in found["detail"]


@pytest.mark.django_db
def test_fields_are_named_with_their_path(cast: Cast) -> None:
    body = {
        "happened_at": "2026-05-11T07:00:00Z",
        "from_bin": [{"material": "grass", "amount_g": 1.5}],
        "watr_ml": 3,
    }
    found = check(Caller(cast.duarte).post("/digesters/duarte-drum/feedings", body), 422, "invalid")
    assert [error["field"] for error in found["errors"]] == ["watr_ml"]
    del body["watr_ml"]
    found = check(Caller(cast.duarte).post("/digesters/duarte-drum/feedings", body), 422, "invalid")
    assert [error["field"] for error in found["errors"]] == ["from_bin.0.amount_g"]
    assert "whole number" in found["detail"]


@pytest.mark.django_db
def test_a_fault_of_ours_tells_nothing_of_its_innards(cast: Cast) -> None:
    with mock.patch(
        "apps.api.resources.places.by_code", side_effect=RuntimeError("secret innards")
    ):
        response = Caller(cast.ana).get("/places/quay")
    check(response, 500, "fault")
    assert b"secret" not in response.content


@pytest.mark.django_db
def test_sentences_come_in_the_language_that_is_asked_for() -> None:
    with mock.patch("apps.api.problem._", lambda text: f"<{text}>"):
        assert problem_of(Refused("%(kg)s kg is too much.", figures={"kg": 3})).detail == (
            "<3 kg is too much.>"
        )


@pytest.mark.parametrize(
    ("error", "status", "code"),
    [
        (Refused("no"), 422, "refused"),
        (Conflict("no"), 409, "conflict"),
        (NeedsConfirmation("no"), 409, "needs_confirmation"),
        (NotAllowed("no"), 403, "not_allowed"),
        (ValidationError({"name": ["Too long."]}), 422, "invalid"),
        (ValidationError("no"), 422, "invalid"),
        (FigureError("no"), 422, "invalid"),
        (IntegrityError("UNIQUE"), 409, "conflict"),
        (OperationalError("database is locked"), 503, "busy"),
        (RequestDataTooBig("no"), 413, "too_large"),
        (SuspiciousOperation("no"), 400, "not_understood"),
        (exceptions.Throttled(wait=3), 429, "too_many"),
        (KeyError("innards"), 500, "fault"),
    ],
)
def test_each_family_has_one_translation(error: Exception, status: int, code: str) -> None:
    problem = problem_of(error)
    assert (problem.status, problem.code) == (status, code)
    assert "innards" not in problem.detail


def test_typed_text_that_looks_like_a_figure_breaks_no_sentence() -> None:
    problem = problem_of(Refused("“%(x)s 100%” is not an amount.", figures={"given": "%(x)s"}))
    assert problem.detail == "“%(x)s 100%” is not an amount."
