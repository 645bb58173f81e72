"""The OpenAPI description says what the API does."""

from __future__ import annotations

import re

import jsonschema
import pytest
from django.test import Client

from apps.api.problem import TITLES
from apps.api.schema import PROBLEMS, schema_document
from apps.kernel.errors import Refused
from tests.access.routes import all_routes


def operations() -> dict[str, dict]:  # type: ignore[type-arg]
    return {
        f"{method.upper()} {address}": told
        for address, methods in schema_document()["paths"].items()
        for method, told in methods.items()
    }


def test_every_address_of_the_api_is_described() -> None:
    described = set(operations())
    for route in all_routes():
        view = getattr(route.view, "cls", None)
        if route.is_api and view is not None and view.schema is not None:
            address = "/" + re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", route.pattern)
            for method in route.access.methods:  # type: ignore[union-attr]
                assert f"{method} {address}" in described


def test_operation_ids_are_verb_noun_and_differ() -> None:
    names = [told["operationId"] for told in operations().values()]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z]+(_[a-z]+)+", name) for name in names)


def test_every_operation_tells_its_problems_and_whom_it_is_for() -> None:
    for where, told in operations().items():
        assert set(PROBLEMS) <= set(told["responses"]), where
        assert told["description"].splitlines()[-1].startswith("For"), where


def test_whatever_writes_facts_needs_a_key() -> None:
    needed = {
        told["operationId"]
        for told in operations().values()
        for parameter in told.get("parameters", ())
        if parameter["name"] == "Idempotency-Key" and parameter.get("required")
    }
    assert {
        "record_feeding",
        "reverse_feeding",
        "record_reading",
        "run_late",
        "hand_over_pickup",
        "take_over_pickup",
        "refuse_batch",
        "contest_weight",
        "compost_pickup",
        "change_stage",
        "confirm_step",
        "tighten_limit",
        "loosen_limit",
        "make_plan",
        "announce_plan",
        "invite_person",
        "accept_pickup",
        "decline_pickup",
        "collect_pickup",
        "complete_pickup",
        "fail_pickup",
        "reassign_pickup",
        "feed_by_recipe",
        "repeat_offers",
        "offer_amounts",
        "offer_nothing",
        "raise_concern",
        "close_concern",
        "go_away",
        "take_start_up_step",
        "let_out",
        "note_pail",
        "note_foreign_matter",
        "pause_stream",
        "record_trial",
        "build_round",
        "build_rounds",
        "replan_round",
        "note_stop_done",
        "note_stop_problem",
    } == needed


def test_bodies_take_no_unknown_names() -> None:
    for name, schema in schema_document()["components"]["schemas"].items():
        if name.endswith("Request"):
            assert schema["additionalProperties"] is False, name


def test_amounts_are_whole_numbers_with_their_unit() -> None:
    for name, schema in schema_document()["components"]["schemas"].items():
        for field, told in schema.get("properties", {}).items():
            if re.search(r"_(g|ml|mm|m)$", field) and not field.startswith("fed_vs_g"):
                kinds = [told, told.get("items", {})]
                assert any(kind.get("type") == "integer" for kind in kinds), f"{name}.{field}"


def test_the_description_is_valid_openapi() -> None:
    document = schema_document()
    assert document["openapi"].startswith("3.0")
    for name, schema in document["components"]["schemas"].items():
        jsonschema.Draft4Validator.check_schema(
            {key: value for key, value in schema.items() if key != "nullable"}
        )
        assert (
            schema.get("description")
            or name.endswith(("Request", "Enum", "Page"))
            or ("enum" in schema)
        ), name


@pytest.mark.django_db
def test_it_is_served_to_anybody_and_people_have_a_page_of_it() -> None:
    response = Client().get("/api/v1/schema")
    assert response["Content-Type"] == "application/vnd.oai.openapi+json"
    assert response.json() == schema_document()
    page = Client().get("/api/").content.decode()
    assert "record_feeding" in page
    assert "<script" not in page
    assert "style=" not in page


@pytest.mark.django_db
def test_every_code_has_its_paragraph_on_the_page_of_problems() -> None:
    page = Client().get("/api/problems").content.decode()
    codes = set(TITLES)
    families = [Refused]
    while families:
        family = families.pop()
        families += family.__subclasses__()
        codes.add(family.code)
    assert [code for code in sorted(codes) if f'id="{code}"' not in page] == []
