"""One link for each kind of user, and each signs in whom it names."""

from __future__ import annotations

import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from apps.people.models import Role, User
from apps.people.operations.use_sign_in_link import use_sign_in_link
from tests.cast import Cast


def test_one_link_for_each_kind_of_user(cast: Cast, settings) -> None:
    operator = User.objects.create_user("omar@example.org", name="Omar", is_operator=True)
    out = StringIO()
    call_command("print_sign_in_links", group="harbour", stdout=out)
    tokens = re.findall(rf"{re.escape(settings.SITE_ADDRESS)}/sign-in/([^/]+)/", out.getvalue())
    assert len(tokens) == len(Role) + 1
    assert use_sign_in_link(tokens[-1], now=operator.created_at) == operator


@pytest.mark.django_db
def test_a_group_that_is_not_there_is_named() -> None:
    with pytest.raises(CommandError, match="nowhere"):
        call_command("print_sign_in_links", group="nowhere")
