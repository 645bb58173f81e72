"""A real browser against a real server, for a few whole stories.

Pages are served with their plain static names, since hashed ones exist only after collecting.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import pytest
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Browser, Page, Playwright, sync_playwright

from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.people.models import Member
from apps.planning.models import Plan
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from tests.cast import Cast, make_cast
from tests.conftest import find_chromium
from tests.journeys.looking import PHONE
from tests.remembered import remembered

OpenAs = Callable[..., Page]


@pytest.fixture(autouse=True)
def _plain_static_names(settings) -> None:  # type: ignore[no-untyped-def]
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }


@pytest.fixture(scope="session")
def playwright_now() -> Iterator[Playwright]:
    # Playwright's own event loop runs in this thread; Django would refuse its database here,
    # also when the test database is taken down after the last test.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def browser(playwright_now: Playwright) -> Iterator[Browser]:
    browser = playwright_now.chromium.launch(
        executable_path=find_chromium(),
        args=["--no-sandbox", "--disable-background-networking"],
    )
    yield browser
    browser.close()


@pytest.fixture
@remembered
def neighbourhood(transactional_db: None) -> Cast:
    """The cast as of now, since a browser's server reads the real clock."""
    return make_cast(datetime.now(UTC), history_days=14)


@pytest.fixture
def plans(neighbourhood: Cast) -> tuple[Plan, Plan]:
    """An announced plan from today on, and a draft from tomorrow on."""
    return announced_today(), draft_of_tomorrow()


@remembered
def announced_today() -> Plan:
    """From today on, of the neighbourhood as it was saved."""
    group, now = Group.objects.get(code="harbour"), datetime.now(UTC)
    plan = make_plan(group, now=now, starts_on=local_date(now, group.time_zone))
    return announce_plan(plan, now=now)


@remembered
def draft_of_tomorrow() -> Plan:
    """From tomorrow on, after the announced one."""
    return make_plan(Group.objects.get(code="harbour"), now=datetime.now(UTC))


@pytest.fixture
def open_as(browser: Browser, live_server) -> Iterator[OpenAs]:  # type: ignore[no-untyped-def]
    """Open an address as a member (or nobody), on a phone unless said otherwise; a console
    error or an answer of 500 fails the test when it ends."""
    faults: list[str] = []
    contexts = []

    def open_page(
        who: Member | None, address: str, *, viewport: dict[str, int] = PHONE, script: bool = True
    ) -> Page:
        context = browser.new_context(viewport=viewport, java_script_enabled=script)  # type: ignore[arg-type]
        contexts.append(context)
        if who is not None:
            context.add_cookies(
                [{"name": "session", "value": session_of(who), "url": live_server.url}]
            )
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on(
            "response",
            lambda answer: faults.append(answer.url) if answer.status >= 500 else None,
        )
        page.on(
            "console",
            lambda message: (
                faults.append(message.text) if "Content Security Policy" in message.text else None
            ),
        )
        page.goto(live_server.url + address)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not faults


def session_of(member: Member) -> str:
    """A session as signing in would make it."""
    user = member.user
    assert user is not None
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    session.create()
    return str(session.session_key)
