"""Knocking at an address without doing anything there: the request goes the whole way to the
gate, and whoever the gate lets in is stopped right behind it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any
from unittest import mock

from django.test import Client

from apps.people.access import PUBLIC, Access, Admission, admit
from tests.access.expected import ABSENT, ASK, IN, NO

GATES = ("apps.web.page.admit", "apps.api.view.admit")
"""The two places that let people in."""

SIGN_IN_PAGE = "/sign-in/"


class CameIn(BaseException):
    """Not an Exception, so that nothing on the way out mistakes it for an error."""


@contextmanager
def stopped_behind_the_gate() -> Iterator[None]:
    """Whoever is admitted comes out again as `CameIn`."""

    def stopping(access: Access, method: str, *asker: Any) -> Admission:
        admit(access, method, *asker)
        raise CameIn

    with mock.patch(GATES[0], stopping), mock.patch(GATES[1], stopping):
        yield


def knock(client: Client, method: str, address: str, access: Access) -> str:
    """What happened there, in the words of `expected`."""
    try:
        response = client.generic(method, address)
    except CameIn:
        return IN
    if access.audience(method) is PUBLIC and not _has_gate(response.resolver_match.func):
        return IN if response.status_code < 500 else f"status {response.status_code}"
    return _meaning(response)


def _has_gate(view: Callable[..., Any]) -> bool:
    """Health answers have none: they are public and must not depend on the database."""
    return not getattr(view, "__module__", "").startswith("coordinator.")


def _meaning(response: Any) -> str:
    status: int = response.status_code
    if status == 302 and response["Location"].startswith(SIGN_IN_PAGE):
        return ASK
    return {401: ASK, 403: NO, 404: ABSENT, 405: "no method"}.get(status, f"status {status}")


def gates_exist() -> bool:
    """Whether both modules still have the name that is patched here."""
    return all(hasattr(import_module(gate.rpartition(".")[0]), "admit") for gate in GATES)
