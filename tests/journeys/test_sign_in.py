"""Somebody asks for a link, opens it from the mail, and is in after one tap."""

from __future__ import annotations

import re

import pytest
from django.core import mail
from playwright.sync_api import expect

from apps.people.models import SignInLink
from tests.cast import Cast
from tests.journeys.conftest import OpenAs

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_link_by_mail_signs_in_once(
    open_as: OpenAs, neighbourhood: Cast, live_server, settings, script: bool
) -> None:
    settings.SITE_ADDRESS = live_server.url
    page = open_as(None, "/", script=script)
    page.get_by_role("link", name="Sign in by e-mail").click()
    page.get_by_label("Your e-mail address").fill("duarte@example.org")
    page.get_by_role("button", name="Send me a link").click()
    expect(page.get_by_role("heading", name="Look into your mail")).to_be_visible()

    found = re.search(r"http\S+", str(mail.outbox[-1].body))
    assert found is not None
    link = found.group()
    page.goto(link)
    assert SignInLink.objects.filter(used_at=None).count() == 1, "reading a link never acts"
    page.get_by_role("button", name="Sign me in").click()
    expect(page.get_by_role("heading", name="My days")).to_be_visible()

    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_text("You are signed out.")).to_be_visible()
    page.goto(link)
    page.get_by_role("button", name="Sign me in").click()
    expect(page.get_by_text("This link no longer works.")).to_be_visible()


def test_the_language_is_changed_by_a_button(open_as: OpenAs, neighbourhood: Cast) -> None:
    page = open_as(neighbourhood.duarte, "/g/harbour/my-week/")
    page.get_by_role("button", name="Español").click()
    expect(page.get_by_role("heading", name="Mis días")).to_be_visible()
    assert page.locator("html").get_attribute("lang") == "es"
