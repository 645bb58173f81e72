"""Every address × method × asker × own or other group, read from the URL resolver.

What happens is compared with what the declarations say (worked out a second time in
`expected.py`), and the declarations with the reviewed table `matrix.csv`.
"""

from __future__ import annotations

import pytest
from django.test import Client

from tests.access.actors import ACTORS, GROUPS, Actor, knocking, make_groups
from tests.access.expected import expected
from tests.access.knock import gates_exist, knock, stopped_behind_the_gate
from tests.access.matrix import FILE, matrix_text
from tests.access.routes import METHODS, Route, all_routes

pytestmark = pytest.mark.one_database


def test_every_address_declares_who_may_use_it() -> None:
    undeclared = [route.pattern for route in all_routes() if route.access is None]
    assert undeclared == [], "Give these views an Access (see apps/people/access.py)."


def test_every_parameter_of_an_address_has_a_sample() -> None:
    for route in all_routes():
        route.address()


def test_views_have_the_methods_they_declare_and_no_others() -> None:
    for route in all_routes():
        view = getattr(route.view, "cls", None)
        if view is None or route.access is None:
            continue
        has = {method for method in METHODS if hasattr(view, method.lower())}
        assert has == set(route.access.methods), route.pattern


def test_both_gates_are_where_the_test_looks_for_them() -> None:
    assert gates_exist()


@pytest.mark.django_db
@pytest.mark.parametrize("actor", ACTORS, ids=lambda actor: actor.name)
def test_what_happens_is_what_is_declared(actor: Actor) -> None:
    client = knocking(actor, make_groups())
    wrong: list[str] = []
    with stopped_behind_the_gate():
        for route in all_routes():
            assert route.access is not None
            for method in route.access.methods:
                for where, address in _addresses(route):
                    want = expected(route.access, method, actor, where, is_api=route.is_api)
                    got = knock(client, method, address, route.access)
                    if got != want:
                        wrong.append(f"{method} {address} as {actor.name}: {got}, not {want}")
    assert wrong == []


@pytest.mark.django_db
def test_methods_that_are_not_declared_are_refused() -> None:
    client = Client(raise_request_exception=False)
    wrong = []
    with stopped_behind_the_gate():
        for route in all_routes():
            assert route.access is not None
            for method in set(METHODS) - set(route.access.methods):
                got = client.generic(method, route.address(group=GROUPS["own"])).status_code
                if got != 405:
                    wrong.append(f"{method} /{route.pattern}: {got}")
    assert wrong == []


def test_the_reviewed_table_is_up_to_date() -> None:
    """Read the difference, then `python -m tests.access`."""
    assert matrix_text().splitlines() == FILE.read_text().splitlines()


def _addresses(route: Route) -> list[tuple[str | None, str]]:
    if "group" not in route.parameters:
        return [(None, route.address())]
    return [(where, route.address(group=code)) for where, code in GROUPS.items()]
