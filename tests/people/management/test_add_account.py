"""The first person of an installation comes in by a command."""

from __future__ import annotations

import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from apps.groups.models import Group
from apps.people.models import User

pytestmark = pytest.mark.django_db


def link(*asked: str) -> str:
    out = StringIO()
    call_command("add_account", *asked, stdout=out)
    found = re.search(r"(/sign-in/[^/]+/)", out.getvalue())
    assert found is not None
    return found.group(1)


def test_the_first_person_signs_in_and_founds_a_group() -> None:
    client = Client()
    assert client.post(link("Mara@Example.org", "--name", "Mara", "--language", "es")).url == "/"
    sent = {"name": "Hill", "code": "hill", "time_zone": "", "language": "es"}
    assert client.post("/new-group/", sent).status_code == 422
    answer = client.post("/new-group/", {**sent, "time_zone": "Europe/Lisbon"})
    assert answer.url == "/g/hill/sheets/"
    assert Group.objects.get().language == "es"


def test_once_more_is_another_link_for_the_same_account() -> None:
    first, second = (
        link("mara@example.org", "--name", "Mara"),
        link("mara@example.org", "--name", "M"),
    )
    assert first != second
    assert User.objects.get().name == "Mara"
    link("mara@example.org", "--name", "Mara", "--operator")
    assert User.objects.get().is_operator


def test_what_is_no_address_is_refused() -> None:
    with pytest.raises(CommandError, match="valid email"):
        call_command("add_account", "mara", "--name", "Mara")
    assert not User.objects.exists()
