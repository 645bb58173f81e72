"""What every test may use, and what a test may need of the machine.

Tests that need a browser or a broker carry the marker `browser` or `redis`. Where the machine
lacks it they are skipped and named loudly at the end; under CI=true that fails the run. Those
marked `one_database` (permissions, numbers of statements) are not repeated on PostgreSQL.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import redis as redis_client
from django.test import TestCase, TransactionTestCase
from hypothesis import settings

from apps.ledger.models.guards import lift_guards_to_empty_test_database
from tests.cast import Cast, make_cast

# A slow machine is no fault of the code; how fast things are is said by the benchmarks.
settings.register_profile("house", deadline=None)
settings.load_profile("house")

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")


def find_chromium() -> str | None:
    """Path of a Chromium on this machine; CHROMIUM overrides the search."""
    if os.environ.get("CHROMIUM"):
        return os.environ["CHROMIUM"]
    return next((path for name in CHROMIUM_NAMES if (path := shutil.which(name))), None)


def redis_answers() -> bool:
    """Whether the Redis of TEST_REDIS_URL answers."""
    url = os.environ.get("TEST_REDIS_URL", "redis://127.0.0.1:6379/15")
    try:
        return bool(redis_client.Redis.from_url(url, socket_connect_timeout=1).ping())
    except redis_client.RedisError:
        return False


def pytest_configure(config: pytest.Config) -> None:
    """Declare the markers."""
    config.addinivalue_line("markers", "browser: needs Chromium")
    config.addinivalue_line("markers", "redis: needs a Redis at TEST_REDIS_URL")
    config.addinivalue_line("markers", "one_database: a second database can tell nothing more")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what the machine cannot run; on a second database, repeat only what touches one."""
    lacking = {}
    if find_chromium() is None:
        lacking["browser"] = "no Chromium on this machine"
    if any(item.get_closest_marker("redis") for item in items) and not redis_answers():
        lacking["redis"] = "no Redis at TEST_REDIS_URL"
    for item in items:
        for marker, reason in lacking.items():
            if item.get_closest_marker(marker):
                item.add_marker(pytest.mark.skip(reason=f"COULD NOT RUN: {reason}"))
    if os.environ.get("ONLY_DATABASE_TESTS"):
        uses = [item for item in items if _uses_database(item)]
        config.hook.pytest_deselected(items=[item for item in items if item not in set(uses)])
        items[:] = uses


def _uses_database(item: pytest.Item) -> bool:
    if item.get_closest_marker("browser") or item.get_closest_marker("one_database"):
        return False
    fixtures = set(getattr(item, "fixturenames", ()))
    return bool(
        item.get_closest_marker("django_db") or fixtures & {"db", "transactional_db", "live_server"}
    )


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name what could not run, last and loudly."""
    missing = [
        (report.nodeid, report.longrepr[2] if isinstance(report.longrepr, tuple) else "")
        for report in terminalreporter.stats.get("skipped", [])
        if "COULD NOT RUN" in str(report.longrepr)
    ]
    for nodeid, reason in missing:
        terminalreporter.write_line(f"!! {nodeid}: {reason}", red=True, bold=True)
    target = os.environ.get("NOT_RUN_FILE")
    if target and missing:
        with Path(target).open("a") as file:
            file.writelines(f"{nodeid}: {reason}\n" for nodeid, reason in missing)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Under CI nothing may be missing."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("CI") == "true" and reporter is not None:
        skipped = reporter.stats.get("skipped", [])
        if any("COULD NOT RUN" in str(report.longrepr) for report in skipped):
            session.exitstatus = 1


@pytest.fixture
def cast(db: None) -> Cast:
    """The shared neighbourhood, saved."""
    return make_cast()


@pytest.fixture(scope="session", autouse=True)
def _empty_guarded_tables() -> Iterator[None]:
    """Tests that commit are cleaned up by emptying every table; the ledger's triggers are lifted
    for that, and the flush, which ends like a migrate, installs them again."""
    teardown = TransactionTestCase._fixture_teardown

    def lift_then_flush(case: TransactionTestCase) -> None:
        if not isinstance(case, TestCase):
            for alias in case._databases_names(include_mirrors=False):
                lift_guards_to_empty_test_database(alias)
        teardown(case)

    # For the whole run: a test's own patches are undone before its tables are emptied.
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lift_then_flush)
        yield
